import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { getProduct, type LoadedProduct, loadProduct, requireModel } from '../../actions/load-product.ts';
import { repairProduct } from '../../actions/repair-product.ts';
import { replayPreparation } from '../../actions/replay-preparation.ts';
import { useRevision } from '../../actions/use-revision.ts';
import { preparationOf } from '../../core/product/origin.ts';
import { unknownRevision } from '../../core/product/unknown-revision.ts';
import { readRepairs } from '../../core/repair/read-repairs.ts';
import type { Repair } from '../../core/repair/repair.ts';
import type { ModelAnswer, PreparationAnswer, RepairAnswer, RevisionListAnswer, SlotListAnswer } from '../answers.ts';
import { HoldQuery, PreparationBody, PreviewQuery, RepairsBody } from '../contracts/repair.ts';
import { sendFile } from '../send-bytes.ts';
import { toSlotAnswer } from '../to-slot-answer.ts';

type ByProduct = { Params: { product: string } };
type ByRevision = { Params: { product: string; revision: string } };

/** Repairs, the preparation they make up, and the revisions they lead to. */
export function addRepairRoutes(app: FastifyInstance, context: Context): void {
  const { stores, files } = context;

  app.post<ByProduct & { Body: RepairsBody; Querystring: PreviewQuery }>(
    '/api/products/:product/repairs',
    {
      schema: {
        summary: 'Make repairs, all or none, as a new revision; with preview=1 only tell what would come of them',
        tags: ['preparation'],
        querystring: PreviewQuery,
        body: RepairsBody,
      },
    },
    async ({ params, body, query }, reply) => {
      const preview = query.preview === '1';
      const made = await repairProduct(context, params.product, readRepairs(body.repairs, '/repairs'), { preview });
      const loaded = await loadProduct(context, params.product);
      const shown = { ...loaded, model: loaded.model && { ...loaded.model, survey: made.survey } };
      const { readiness, slots, ...more } = made;
      const answer: RepairAnswer = { ...more, ...readiness, slots: slots.map((slot) => toSlotAnswer(shown, slot)) };
      return reply.status(preview ? 200 : 201).send(answer);
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/preparation',
    { schema: { summary: 'The repairs every new model of the product goes through', tags: ['preparation'] } },
    async ({ params }): Promise<PreparationAnswer> => {
      return tellPreparation(await loadProduct(context, params.product), await stores.getPreparation(params.product));
    },
  );

  app.put<ByProduct & { Body: PreparationBody }>(
    '/api/products/:product/preparation',
    {
      schema: {
        summary: 'Edit the preparation; it is made when a model arrives, or by replay',
        tags: ['preparation'],
        body: PreparationBody,
      },
    },
    async ({ params, body }): Promise<PreparationAnswer> => {
      await getProduct(context, params.product);
      const steps = readRepairs(body.steps, '/steps');
      await stores.putPreparation(params.product, steps);
      return tellPreparation(await loadProduct(context, params.product), steps);
    },
  );

  app.post<ByProduct & { Querystring: HoldQuery }>(
    '/api/products/:product/preparation/replay',
    {
      schema: {
        summary: 'Make the preparation anew on the model as it was received; with hold=1 it does not become current',
        tags: ['preparation'],
        querystring: HoldQuery,
      },
    },
    async ({ params, query }, reply) => {
      const received = await replayPreparation(context, params.product, { hold: query.hold === '1' });
      const loaded = await loadProduct(context, params.product);
      const answer: ModelAnswer = { ...received, slots: received.slots.map((slot) => toSlotAnswer(loaded, slot)) };
      return reply.status(201).send(answer);
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/revisions',
    { schema: { summary: 'Revisions of the model, the latest first', tags: ['preparation'] } },
    async ({ params }): Promise<RevisionListAnswer> => {
      await getProduct(context, params.product);
      const base = `/api/products/${encodeURIComponent(params.product)}/revisions`;
      const revisions = await stores.listRevisions(params.product);
      return {
        revisions: revisions.map((revision) => ({ ...revision, model: `${base}/${revision.revision}/model.glb` })),
      };
    },
  );

  app.post<ByRevision>(
    '/api/products/:product/revisions/:revision/use',
    {
      schema: {
        summary: 'Make a revision current: an earlier one, which undoes repairs, or one that was held back',
        tags: ['preparation'],
      },
    },
    async ({ params }): Promise<SlotListAnswer> => {
      await useRevision(context, params.product, toNumber(params.revision));
      const loaded = await loadProduct(context, params.product);
      requireModel(loaded);
      return { slots: loaded.slots.map((slot) => toSlotAnswer(loaded, slot)) };
    },
  );

  app.get<ByRevision>(
    '/api/products/:product/revisions/:revision/model.glb',
    { schema: { summary: 'A revision of the model, as it is stored', tags: ['preparation'] } },
    async (request, reply) => {
      const { code } = await getProduct(context, request.params.product);
      const stored = await stores.getRevision(code, toNumber(request.params.revision));
      if (!stored) throw unknownRevision(toNumber(request.params.revision));
      const { sha256, bytes, revision } = stored;
      return sendFile(request, reply, files.getPath(sha256), {
        sha256,
        bytes,
        mediaType: 'model/gltf-binary',
        fileName: `${code}-model-${revision}.glb`,
      });
    },
  );
}

function tellPreparation({ model }: LoadedProduct, steps: readonly Repair[]): PreparationAnswer {
  const reports = model?.origin.kind === 'repaired' ? model.origin.reports : [];
  return { steps, made: preparationOf(model), reports };
}

/** @throws Problem `unknown-revision` */
function toNumber(text: string): number {
  if (!/^[1-9]\d{0,8}$/.test(text)) throw unknownRevision(Number.NaN);
  return Number(text);
}
