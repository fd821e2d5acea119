import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { deliver } from '../../actions/deliver.ts';
import { getProduct } from '../../actions/load-product.ts';
import { Problem } from '../../core/problems.ts';
import { SLICE } from '../../core/slices.ts';
import { PRODUCT_PROBLEMS } from '../../core/texts/problems/product.ts';
import { DeliveryAnswer, DeliveryBody, DeliveryListAnswer, ManifestAnswer } from '../contracts/delivery.ts';
import { NumberedQuery, ref } from '../contracts/schema-parts.ts';
import { pageNumbered } from '../page-numbered.ts';
import { bytes, created, ok } from '../responses.ts';
import { sendFile } from '../send-bytes.ts';
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
        response: created(DeliveryAnswer),
      },
    },
    async ({ params, body }, reply) => {
      const answer = toAnswer(await deliver(context, params.product, body));
      return reply
        .status(201)
        .header('location', answer.model.replace(/\/model\.glb$/, ''))
        .send(answer);
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

  app.get<ByDelivery>(
    '/api/products/:product/deliveries/:delivery',
    { schema: { ...TAGS, summary: 'Get a delivery', response: ok(DeliveryAnswer) } },
    async ({ params }) => toAnswer(await getManifest(context, params)),
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
      const { variants, ...rest } = await getManifest(context, params);
      return sendList(reply, 'variants', variants, (variant) => variant, rest, SLICE);
    },
  );

  app.get<ByDelivery>(
    '/api/products/:product/deliveries/:delivery/model.glb',
    { schema: { ...TAGS, summary: 'Download the delivered file', response: bytes('model/gltf-binary') } },
    async (request, reply) => {
      const { product, delivery, file } = await getManifest(context, request.params);
      return sendFile(request, reply, context.files.getPath(file.sha256), {
        ...file,
        fileName: `${product}-${delivery}.glb`,
        immutable: true,
      });
    },
  );
}

/** @throws Problem `unknown-delivery` */
async function getManifest(context: Context, params: ByDelivery['Params']): Promise<ManifestAnswer> {
  const { code } = await getProduct(context, params.product);
  const number = /^\d{1,9}$/.test(params.delivery) ? Number(params.delivery) : -1;
  const manifest = await context.stores.getDelivery(code, number);
  if (manifest) return manifest;
  throw new Problem('unknown-delivery', {
    detail: PRODUCT_PROBLEMS['unknown-delivery'](code, params.delivery.slice(0, 40)),
    received: params.delivery.slice(0, 40),
  });
}

function toAnswer(manifest: ManifestAnswer): DeliveryAnswer {
  return {
    delivery: manifest.delivery,
    sha256: manifest.file.sha256,
    bytes: manifest.file.bytes,
    variants: manifest.variants.length,
    findings: manifest.findings,
    ...urls(manifest.product, manifest.delivery),
  };
}

function urls(product: string, delivery: number): { model: string; manifest: string } {
  const base = `/api/products/${encodeURIComponent(product)}/deliveries/${delivery}`;
  return { model: `${base}/model.glb`, manifest: `${base}/manifest.json` };
}
