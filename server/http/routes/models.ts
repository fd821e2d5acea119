import type { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import { changeSlot } from '../../actions/change-slot.ts';
import type { Context } from '../../actions/context.ts';
import { loadProduct, requireModel } from '../../actions/load-product.ts';
import { receiveModel } from '../../actions/receive-model.ts';
import type { ModelMediaType } from '../../core/ports/models.ts';
import { Problem } from '../../core/problems.ts';
import type { LookAnswer, ModelAnswer, SlotAnswer, SlotListAnswer } from '../answers.ts';
import { SlotChangeBody } from '../contracts/product.ts';
import { HoldQuery } from '../contracts/repair.ts';
import { sendFile } from '../send-bytes.ts';
import { toSlotAnswer } from '../to-slot-answer.ts';

type ByProduct = { Params: { product: string } };

export const MODEL_TYPES: readonly ModelMediaType[] = ['model/gltf-binary', 'model/gltf+json', 'application/zip'];

export function addModelRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  app.put<ByProduct & { Body: Readable; Querystring: HoldQuery }>(
    '/api/products/:product/model',
    {
      schema: {
        summary:
          'Receive a model: GLB, a self-contained .gltf, or a zip of a .gltf with its files; with hold=1 it does not become current',
        tags: ['products'],
        consumes: [...MODEL_TYPES],
        querystring: HoldQuery,
      },
    },
    async (request, reply) => {
      const mediaType = (request.headers['content-type'] ?? '').split(';')[0]!.trim().toLowerCase() as ModelMediaType;
      if (!MODEL_TYPES.includes(mediaType)) {
        throw new Problem('media-type', {
          detail: `A model is sent as ${MODEL_TYPES.join(', ')}.`,
          expected: MODEL_TYPES,
          received: mediaType,
        });
      }
      const stated = Number(request.headers['content-length'] ?? 0);
      try {
        if (stated > bodyLimitBytes) tooLarge(stated, bodyLimitBytes);
        const received = await receiveModel(
          context,
          request.params.product,
          mediaType,
          request.body.iterator({ destroyOnReturn: false }),
          { limitBytes: bodyLimitBytes, hold: request.query.hold === '1' },
        );
        const loaded = await loadProduct(context, request.params.product);
        const answer: ModelAnswer = { ...received, slots: received.slots.map((slot) => toSlotAnswer(loaded, slot)) };
        return await reply.status(201).send(answer);
      } catch (error) {
        letItFinish(request.raw);
        reply.header('connection', 'close');
        throw error;
      }
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/model.glb',
    { schema: { summary: 'The current revision of the model, as it is stored', tags: ['products'] } },
    async (request, reply) => {
      const loaded = await loadProduct(context, request.params.product);
      const { sha256, bytes } = requireModel(loaded);
      const fileName = `${loaded.product.code}-model.glb`;
      return sendFile(request, reply, context.files.getPath(sha256), {
        sha256,
        bytes,
        mediaType: 'model/gltf-binary',
        fileName,
      });
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/slots',
    { schema: { summary: 'Slots', tags: ['products'] } },
    async ({ params }): Promise<SlotListAnswer> => {
      const loaded = await loadProduct(context, params.product);
      return { slots: loaded.slots.map((slot) => toSlotAnswer(loaded, slot)) };
    },
  );

  app.patch<{ Params: { product: string; slot: string }; Body: SlotChangeBody }>(
    '/api/products/:product/slots/:slot',
    { schema: { summary: 'Change what is said of a slot', tags: ['products'], body: SlotChangeBody } },
    async ({ params, body }): Promise<SlotAnswer> => {
      const slot = await changeSlot(context, params.product, params.slot, body);
      return toSlotAnswer(await loadProduct(context, params.product), slot);
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/look',
    {
      schema: {
        summary: 'What a live preview needs: a file with every finish, and which part wears which material',
        tags: ['pictures'],
      },
    },
    async ({ params }): Promise<LookAnswer> => {
      const loaded = await loadProduct(context, params.product);
      return context.studioFiles.use(loaded, {}, async (studio) => ({
        file: `/api/products/${encodeURIComponent(loaded.product.code)}/studio/${studio.key}.glb`,
        mount: loaded.product.mount,
        parts: studio.parts,
      }));
    },
  );

  app.get<{ Params: { product: string; key: string } }>(
    '/api/products/:product/studio/:key.glb',
    { schema: { summary: 'The file a live preview shows', tags: ['pictures'] } },
    async (request, reply) => {
      const loaded = await loadProduct(context, request.params.product);
      return context.studioFiles.use(loaded, {}, async ({ key, path, bytes }) => {
        if (key !== request.params.key) {
          throw new Problem('unknown-file', {
            detail: 'That preview is out of date. Read /look again.',
            received: request.params.key.slice(0, 80),
          });
        }
        return sendFile(request, reply, path, { sha256: key, bytes, mediaType: 'model/gltf-binary', immutable: true });
      });
    },
  );
}

/** How long a caller that is refused may go on sending, so that it reads the answer instead of a broken pipe. */
const FINISH_MS = 10_000;

function letItFinish(stream: Readable): void {
  if (stream.readableEnded || stream.destroyed) return;
  const timer = setTimeout(() => stream.destroy(), FINISH_MS).unref();
  stream.once('close', () => clearTimeout(timer));
  stream.resume();
}

function tooLarge(received: number, limit: number): never {
  throw new Problem('body-too-large', {
    detail: `The model has ${received} bytes; ${limit} are taken. Send a lighter model, or raise DYEWORKS_BODY_LIMIT_MIB.`,
    expected: limit,
    received,
  });
}
