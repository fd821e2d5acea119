import type { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import type { Asked, Context } from '../../actions/context.ts';
import { importVariants } from '../../actions/import-variants.ts';
import { loadProduct } from '../../actions/load-product.ts';
import { type LoadedProduct, requireModel } from '../../actions/loaded-product.ts';
import { mapPieces } from '../../actions/map-pieces.ts';
import { receiveModel } from '../../actions/receive-model.ts';
import { foldCode } from '../../core/codes.ts';
import type { ModelMediaType } from '../../core/ports/models.ts';
import { Problem } from '../../core/problems.ts';
import { REQUEST_PROBLEMS } from '../../core/texts/problems/request.ts';
import { callerSignal } from '../caller-signal.ts';
import { AuthorHeaders } from '../contracts/finish-history.ts';
import {
  HoldQuery,
  ImportedVariantsAnswer,
  ImportVariantsBody,
  LivePreviewAnswer,
  LookQuery,
  ModelAnswer,
} from '../contracts/model.ts';
import { drain } from '../drain.ts';
import { MODEL_TYPES, readAuthor } from '../request-parsing.ts';
import { bytes, created, ok } from '../responses.ts';
import { sendBytes, sendFile } from '../send-bytes.ts';
import { toSlotAnswer } from './products.ts';

type ByProduct = { Params: { product: string } };

const GLB = 'model/gltf-binary';
const BINARY = 'application/octet-stream';

/** Models: upload, download, import of their variants, and the file for the live preview. */
export function addModelRoutes(app: FastifyInstance, context: Context, bodyLimitBytes: number): void {
  app.put<ByProduct & { Body: Readable; Querystring: HoldQuery }>(
    '/api/products/:product/model',
    {
      schema: {
        summary:
          'Upload a model: GLB, self-contained .gltf, or a zip of a .gltf with its files; hold=1 does not make it current',
        tags: ['products'],
        consumes: [...MODEL_TYPES],
        querystring: HoldQuery,
        response: created(ModelAnswer),
      },
    },
    async (request, reply) => {
      const mediaType = (request.headers['content-type'] ?? '').split(';')[0]!.trim().toLowerCase() as ModelMediaType;
      if (!MODEL_TYPES.includes(mediaType)) {
        throw new Problem('media-type', {
          detail: REQUEST_PROBLEMS['media-type'].model(MODEL_TYPES),
          expected: MODEL_TYPES,
          received: mediaType,
        });
      }
      const stated = Number(request.headers['content-length'] ?? 0);
      try {
        if (stated > bodyLimitBytes) throw tooLarge(stated, bodyLimitBytes);
        const received = await receiveModel(
          context,
          request.params.product,
          mediaType,
          request.body.iterator({ destroyOnReturn: false }),
          { limitBytes: bodyLimitBytes, hold: request.query.hold === '1', signal: callerSignal(reply) },
        );
        const loaded = await loadProduct(context, request.params.product);
        const answer: ModelAnswer = { ...received, slots: received.slots.map((slot) => toSlotAnswer(loaded, slot)) };
        return await reply.status(201).send(answer);
      } catch (error) {
        drain(request.raw);
        reply.header('connection', 'close');
        throw error;
      }
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/model.glb',
    { schema: { summary: 'Download the current model', tags: ['products'], response: bytes(GLB) } },
    async (request, reply) => {
      const loaded = await loadProduct(context, request.params.product);
      const model = requireModel(loaded);
      return sendFile(request, reply, context.files.getPath(model.sha256), {
        sha256: model.sha256,
        bytes: model.bytes,
        mediaType: GLB,
        fileName: `${loaded.product.code}-model.glb`,
      });
    },
  );

  app.post<{ Params: { product: string }; Body: ImportVariantsBody }>(
    '/api/products/:product/model/take-variants',
    {
      schema: {
        summary: 'Import the variants of the model: its materials become finishes, its variants become the schedule',
        tags: ['preparation'],
        body: ImportVariantsBody,
        headers: AuthorHeaders,
        response: created(ImportedVariantsAnswer),
      },
    },
    async ({ params, body, headers }, reply) => {
      const { replace = false } = body;
      const imported = await importVariants(context, params.product, { replace }, readAuthor(headers));
      const loaded = await loadProduct(context, params.product);
      const answer: ImportedVariantsAnswer = {
        finishes: imported.finishes,
        variants: imported.schedule.variants.map(({ code, name }) => ({ code, name })),
        default: imported.schedule.default,
        slots: loaded.slots.map((slot) => toSlotAnswer(loaded, slot)),
        revision: imported.revision,
        leftOut: imported.leftOut,
      };
      return reply.status(201).send(answer);
    },
  );

  app.get<ByProduct & { Querystring: LookQuery }>(
    '/api/products/:product/look',
    {
      schema: {
        summary: 'Get the data for a live preview: a file with every finish, and the materials of each part',
        tags: ['pictures'],
        querystring: LookQuery,
        response: ok(LivePreviewAnswer),
      },
    },
    async ({ params, query }): Promise<LivePreviewAnswer> => {
      const loaded = await loadProduct(context, params.product);
      const asked = readAsked(loaded, query.choice);
      const search = query.choice ? `?${new URLSearchParams(query.choice.map((choice) => ['choice', choice]))}` : '';
      return context.studioFiles.use(loaded, asked, async (studio) => ({
        file: `/api/products/${encodeURIComponent(loaded.product.code)}/studio/${studio.key}.glb${search}`,
        mount: loaded.product.mount,
        parts: studio.parts,
        slots: loaded.slots.flatMap(({ slot, primitives }) =>
          primitives.map(({ mesh, primitive }) => ({ slot, mesh, primitive })),
        ),
        model: requireModel(loaded).sha256,
        pieces: `/api/products/${encodeURIComponent(loaded.product.code)}/pieces.bin`,
      }));
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/pieces.bin',
    {
      schema: {
        summary: 'Download which piece of the survey each triangle of the model belongs to',
        tags: ['products'],
        response: bytes(BINARY),
      },
    },
    async (request, reply) => {
      const { packed, sha256 } = await mapPieces(context, await loadProduct(context, request.params.product));
      return sendBytes(request, reply, packed, { sha256, mediaType: BINARY });
    },
  );

  app.get<{ Params: { product: string; key: string }; Querystring: LookQuery }>(
    '/api/products/:product/studio/:key.glb',
    {
      schema: {
        summary: 'Download the file of a live preview',
        tags: ['pictures'],
        querystring: LookQuery,
        response: bytes(GLB),
      },
    },
    async (request, reply) => {
      const loaded = await loadProduct(context, request.params.product);
      const asked = readAsked(loaded, request.query.choice);
      return context.studioFiles.use(loaded, asked, async ({ key, path, bytes }) => {
        if (key !== request.params.key) {
          throw new Problem('unknown-file', {
            detail: REQUEST_PROBLEMS['unknown-file'],
            received: request.params.key.slice(0, 80),
          });
        }
        return sendFile(request, reply, path, { sha256: key, bytes, mediaType: GLB, immutable: true });
      });
    },
  );
}

/** Finishes by slot. Those that the library does not have are left out, as in a schedule that is being edited. */
function readAsked({ finishes }: LoadedProduct, given: readonly string[] = []): Asked {
  const asked: Record<string, string[]> = Object.create(null);
  for (const choice of given) {
    const at = choice.indexOf(':');
    const finish = finishes.byCode.get(foldCode(choice.slice(at + 1)));
    if (finish) (asked[choice.slice(0, at)] ??= []).push(finish.finish);
  }
  return asked;
}

function tooLarge(received: number, limit: number): Problem {
  return new Problem('body-too-large', {
    detail: REQUEST_PROBLEMS['body-too-large'].model(received, limit),
    expected: limit,
    received,
  });
}
