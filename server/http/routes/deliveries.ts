import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import { addFormsJob } from '../../actions/compress-delivery.ts';
import type { Context } from '../../actions/context.ts';
import { deliver } from '../../actions/deliver.ts';
import { findChanges, findPending, getDelivery } from '../../actions/delivery-changes.ts';
import { deliveryPath, listDeliveryFiles } from '../../actions/delivery-files.ts';
import { splitByGroup } from '../../actions/delivery-forms.ts';
import { getProduct } from '../../actions/load-product.ts';
import { weigh } from '../../actions/weigh-delivery.ts';
import { withdrawDelivery } from '../../actions/withdraw-delivery.ts';
import { SLICE } from '../../core/slices.ts';
import {
  ChangesAnswer,
  ChangesQuery,
  DeliveryAnswer,
  DeliveryBody,
  DeliveryListAnswer,
  ManifestAnswer,
  PendingQuery,
  SplitBody,
  WithdrawBody,
} from '../contracts/delivery.ts';
import { WeightAnswer } from '../contracts/delivery-weight.ts';
import { AuthorHeaders } from '../contracts/finish-history.ts';
import { NumberedQuery, ref } from '../contracts/schema-parts.ts';
import { pageNumbered } from '../page-numbered.ts';
import { readAuthor } from '../request-parsing.ts';
import { created, json, ok } from '../responses.ts';
import { sendList } from '../send-list.ts';

type ByProduct = { Params: { product: string } };
type ByDelivery = { Params: { product: string; delivery: string } };

const TAGS = { tags: ['deliveries'] };

export function addDeliveryRoutes(app: FastifyInstance, context: Context): void {
  app.post<ByProduct & { Body: DeliveryBody }>(
    '/api/products/:product/deliveries',
    {
      schema: {
        ...TAGS,
        summary: 'Deliver one file with every variant',
        body: DeliveryBody,
        response: {
          ...created(DeliveryAnswer),
          200: json('Nothing changed: the last delivery stands', DeliveryAnswer),
          202: json('The delivery is there, and a job makes the asked forms', DeliveryAnswer),
        },
      },
    },
    async ({ params, body }, reply) => {
      const { manifest, unchanged } = await deliver(context, params.product, body);
      const { splitBy, slot } = body;
      if (splitBy) await splitByGroup(context, manifest, { splitBy, ...(slot !== undefined && { slot }) });
      const answer = { ...(await toAnswer(context, manifest)), unchanged };
      const job = await addFormsJob(context, manifest, body.forms ?? [], randomUUID());
      if (job) {
        const url = `/api/jobs/${job.id}`;
        return reply
          .status(202)
          .header('location', url)
          .send({ ...answer, job: url });
      }
      return reply
        .status(unchanged ? 200 : 201)
        .header('location', answer.model.replace(/\/model\.glb$/, ''))
        .send(answer);
    },
  );

  app.post<ByDelivery & { Body: SplitBody }>(
    '/api/products/:product/deliveries/:delivery/split',
    {
      schema: {
        ...TAGS,
        summary: 'Add files to a delivery that have a part of its variants each, divided by article or price grade',
        body: SplitBody,
        response: ok(DeliveryAnswer),
      },
    },
    async ({ params, body }) => {
      const manifest = await getDelivery(context, params.product, params.delivery);
      await splitByGroup(context, manifest, body);
      return toAnswer(context, manifest);
    },
  );

  app.get<ByProduct & { Querystring: NumberedQuery }>(
    '/api/products/:product/deliveries',
    {
      schema: {
        ...TAGS,
        summary: 'List the deliveries, newest first',
        querystring: NumberedQuery,
        response: ok(DeliveryListAnswer),
      },
    },
    async ({ params, query }): Promise<DeliveryListAnswer> => {
      const { code } = await getProduct(context, params.product);
      const deliveries = await context.stores.listDeliveries(code);
      const { page, rest } = pageNumbered(deliveries, ({ delivery }) => delivery, query);
      return { deliveries: page.map((delivery) => ({ ...delivery, ...urls(code, delivery.delivery) })), ...rest };
    },
  );

  app.get<ByProduct & { Querystring: PendingQuery }>(
    '/api/products/:product/deliveries/pending',
    {
      schema: {
        ...TAGS,
        summary: 'List the changes since the last delivery',
        querystring: PendingQuery,
        response: ok(ChangesAnswer),
      },
    },
    async ({ params, query }): Promise<ChangesAnswer> =>
      describeChanges(await findPending(context, params.product, query.names)),
  );

  app.get<ByDelivery & { Querystring: ChangesQuery }>(
    '/api/products/:product/deliveries/:delivery/changes',
    {
      schema: {
        ...TAGS,
        summary: 'List the changes between two deliveries',
        querystring: ChangesQuery,
        response: ok(ChangesAnswer),
      },
    },
    async ({ params, query }): Promise<ChangesAnswer> =>
      describeChanges(await findChanges(context, params.product, params.delivery, query.since)),
  );

  app.get<ByDelivery>(
    '/api/products/:product/deliveries/:delivery',
    { schema: { ...TAGS, summary: 'Get a delivery', response: ok(DeliveryAnswer) } },
    async ({ params }) => toAnswer(context, await getDelivery(context, params.product, params.delivery)),
  );

  app.post<ByDelivery & { Body: WithdrawBody }>(
    '/api/products/:product/deliveries/:delivery/withdraw',
    {
      schema: {
        ...TAGS,
        summary: 'Withdraw a delivery: it is kept, but its files are not sent any more',
        body: WithdrawBody,
        headers: AuthorHeaders,
        response: ok(DeliveryAnswer),
      },
    },
    async ({ params, body: { reason }, headers }) => {
      const { person } = readAuthor(headers);
      return toAnswer(context, await withdrawDelivery(context, params.product, params.delivery, { reason, person }));
    },
  );

  app.get<ByDelivery>(
    '/api/products/:product/deliveries/:delivery/manifest.json',
    {
      schema: {
        ...TAGS,
        summary: 'Get the manifest of a delivery: what the file contains, and from what it was made',
        response: ok(ref(ManifestAnswer)),
      },
    },
    async ({ params }, reply) => {
      const { variants, ...rest } = await getDelivery(context, params.product, params.delivery);
      return sendList(reply, 'variants', variants, (variant) => variant, rest, SLICE);
    },
  );

  app.get<ByDelivery>(
    '/api/products/:product/deliveries/:delivery/weight',
    {
      schema: {
        ...TAGS,
        summary: 'Get what the bytes of a delivery are for: geometry, textures, articles, finishes',
        response: ok(WeightAnswer),
      },
    },
    async ({ params }): Promise<WeightAnswer> => weigh(context, params.product, params.delivery),
  );
}

function describeChanges({
  since,
  changes,
  variants,
  findings,
}: Awaited<ReturnType<typeof findPending>>): ChangesAnswer {
  const { delivery = null, names = null } = since ?? {};
  return { since: delivery, names, outdated: changes.length > 0, variants, changes, findings };
}

async function toAnswer(context: Context, manifest: ManifestAnswer): Promise<DeliveryAnswer> {
  const { model, manifest: manifestUrl } = urls(manifest.product, manifest.delivery);
  return {
    delivery: manifest.delivery,
    sha256: manifest.file.sha256,
    bytes: manifest.file.bytes,
    variants: manifest.variants.length,
    findings: manifest.findings,
    ...(manifest.note !== undefined && { note: manifest.note }),
    ...(manifest.withdrawn && { withdrawn: manifest.withdrawn }),
    model,
    manifest: manifestUrl,
    files: await listFiles(context, manifest),
  };
}

function urls(product: string, delivery: number): { model: string; manifest: string } {
  const base = deliveryPath(product, delivery);
  return { model: `${base}/model.glb`, manifest: `${base}/manifest.json` };
}

async function listFiles(context: Context, manifest: ManifestAnswer): Promise<DeliveryAnswer['files']> {
  return (await listDeliveryFiles(context, manifest)).map(({ sha256, bytes, details, ...listed }) => ({
    ...listed,
    ...(sha256 !== null && { sha256 }),
    ...(bytes !== null && { bytes }),
    ...(Object.keys(details).length > 0 && { details }),
  }));
}
