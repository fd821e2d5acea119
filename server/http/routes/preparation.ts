import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { putPreparation } from '../../actions/edit-preparation.ts';
import { getProduct, loadProduct } from '../../actions/load-product.ts';
import { type LoadedProduct, requireModel } from '../../actions/loaded-product.ts';
import { replayPreparation, useRevision } from '../../actions/receive-model.ts';
import { repairProduct } from '../../actions/repair-product.ts';
import { tagPreparation } from '../../actions/tags.ts';
import { preparationOf, unknownRevision } from '../../core/product/product.ts';
import { readRepairs } from '../../core/repair/read-repairs.ts';
import type { Repair } from '../../core/repair/repair.ts';
import { callerSignal } from '../caller-signal.ts';
import { HoldQuery, ModelAnswer, PreparationAnswer, RepairAnswer, RevisionListAnswer } from '../contracts/model.ts';
import { EditHeaders } from '../contracts/precondition.ts';
import { SlotListAnswer } from '../contracts/product.ts';
import { PreparationBody, PreviewQuery, RepairsBody } from '../contracts/repair.ts';
import { NumberedQuery } from '../contracts/schema-parts.ts';
import { pageNumbered } from '../page-numbered.ts';
import { readPrecondition } from '../request-parsing.ts';
import { bytes, created, ok, setTag } from '../responses.ts';
import { sendFile } from '../send-bytes.ts';
import { toSlotAnswer } from './products.ts';

type ByProduct = { Params: { product: string } };
type ByRevision = { Params: { product: string; revision: string } };

const TAGS = { tags: ['preparation'] };

/** Repairs, the preparation that they form, and the revisions that they make. */
export function addPreparationRoutes(app: FastifyInstance, context: Context): void {
  const { stores, files } = context;

  app.post<ByProduct & { Body: RepairsBody; Querystring: PreviewQuery }>(
    '/api/products/:product/repairs',
    {
      schema: {
        ...TAGS,
        summary: 'Make repairs, all or none, as a new revision; preview=1 shows the result and changes nothing',
        querystring: PreviewQuery,
        body: RepairsBody,
        response: { ...ok(RepairAnswer), ...created(RepairAnswer) },
      },
    },
    async ({ params, body, query }, reply) => {
      const preview = query.preview === '1';
      const repaired = await repairProduct(context, params.product, readRepairs(body.repairs, '/repairs'), {
        preview,
        signal: callerSignal(reply),
      });
      const loaded = await loadProduct(context, params.product);
      const shown = { ...loaded, model: loaded.model && { ...loaded.model, survey: repaired.survey } };
      const { readiness, slots, ...more } = repaired;
      const answer: RepairAnswer = { ...more, ...readiness, slots: slots.map((slot) => toSlotAnswer(shown, slot)) };
      return reply.status(preview ? 200 : 201).send(answer);
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/preparation',
    {
      schema: {
        ...TAGS,
        summary: 'Get the repairs that Dyeworks makes on every new model of the product',
        response: ok(PreparationAnswer),
      },
    },
    async ({ params }, reply): Promise<PreparationAnswer> => {
      const loaded = await loadProduct(context, params.product);
      const steps = await stores.getPreparation(params.product);
      setTag(reply, tagPreparation(steps));
      return toPreparationAnswer(loaded, steps);
    },
  );

  app.put<ByProduct & { Body: PreparationBody }>(
    '/api/products/:product/preparation',
    {
      schema: {
        ...TAGS,
        summary: 'Replace the preparation; Dyeworks makes it when a model arrives, or on replay',
        body: PreparationBody,
        headers: EditHeaders,
        response: ok(PreparationAnswer),
      },
    },
    async (request, reply): Promise<PreparationAnswer> => {
      const { product } = request.params;
      await getProduct(context, product);
      const steps = readRepairs(request.body.steps, '/steps');
      await putPreparation(context, product, steps, readPrecondition(request));
      setTag(reply, tagPreparation(steps));
      return toPreparationAnswer(await loadProduct(context, product), steps);
    },
  );

  app.post<ByProduct & { Querystring: HoldQuery }>(
    '/api/products/:product/preparation/replay',
    {
      schema: {
        ...TAGS,
        summary: 'Make the preparation again on the model as received; hold=1 does not make the result current',
        querystring: HoldQuery,
        response: created(ModelAnswer),
      },
    },
    async ({ params, query }, reply) => {
      const received = await replayPreparation(context, params.product, { hold: query.hold === '1' });
      const loaded = await loadProduct(context, params.product);
      const answer: ModelAnswer = { ...received, slots: received.slots.map((slot) => toSlotAnswer(loaded, slot)) };
      return reply.status(201).send(answer);
    },
  );

  app.get<ByProduct & { Querystring: NumberedQuery }>(
    '/api/products/:product/revisions',
    {
      schema: {
        ...TAGS,
        summary: 'List the revisions of the model, newest first',
        querystring: NumberedQuery,
        response: ok(RevisionListAnswer),
      },
    },
    async ({ params, query }): Promise<RevisionListAnswer> => {
      await getProduct(context, params.product);
      const base = `/api/products/${encodeURIComponent(params.product)}/revisions`;
      const revisions = await stores.listRevisions(params.product);
      const { page, rest } = pageNumbered(revisions, ({ revision }) => revision, query);
      return {
        revisions: page.map((revision) => ({ ...revision, model: `${base}/${revision.revision}/model.glb` })),
        ...rest,
      };
    },
  );

  app.post<ByRevision>(
    '/api/products/:product/revisions/:revision/use',
    {
      schema: {
        ...TAGS,
        summary: 'Make a revision current: an earlier one, which undoes repairs, or one on hold',
        response: ok(SlotListAnswer),
      },
    },
    async ({ params }): Promise<SlotListAnswer> => {
      await useRevision(context, params.product, readRevision(params.revision));
      const loaded = await loadProduct(context, params.product);
      requireModel(loaded);
      return { slots: loaded.slots.map((slot) => toSlotAnswer(loaded, slot)) };
    },
  );

  app.get<ByRevision>(
    '/api/products/:product/revisions/:revision/model.glb',
    { schema: { ...TAGS, summary: 'Download a revision of the model', response: bytes('model/gltf-binary') } },
    async (request, reply) => {
      const { code } = await getProduct(context, request.params.product);
      const revision = readRevision(request.params.revision);
      const model = await stores.getRevision(code, revision);
      if (!model) throw unknownRevision(revision);
      return sendFile(request, reply, files.getPath(model.sha256), {
        sha256: model.sha256,
        bytes: model.bytes,
        mediaType: 'model/gltf-binary',
        fileName: `${code}-model-${revision}.glb`,
      });
    },
  );
}

function toPreparationAnswer({ model }: LoadedProduct, steps: readonly Repair[]): PreparationAnswer {
  const reports = model?.origin.kind === 'repaired' ? model.origin.reports : [];
  return { steps, made: preparationOf(model), reports };
}

/** @throws Problem `unknown-revision` */
function readRevision(text: string): number {
  if (!/^[1-9]\d{0,8}$/.test(text)) throw unknownRevision(Number.NaN);
  return Number(text);
}
