import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { deliver } from '../../actions/deliver.ts';
import { getProduct } from '../../actions/load-product.ts';
import type { DeliveryManifest } from '../../core/delivery/delivery.ts';
import { Problem } from '../../core/problems.ts';
import type { DeliveryAnswer, DeliveryListAnswer } from '../answers.ts';
import { DeliveryBody } from '../contracts/product.ts';
import { sendFile } from '../send-bytes.ts';

type ByProduct = { Params: { product: string } };
type ByDelivery = { Params: { product: string; delivery: string } };

export function addDeliveryRoutes(app: FastifyInstance, context: Context): void {
  app.post<ByProduct & { Body: DeliveryBody }>(
    '/api/products/:product/deliveries',
    { schema: { summary: 'Deliver one file that carries every variant', tags: ['deliveries'], body: DeliveryBody } },
    async ({ params, body }, reply) => {
      const manifest = await deliver(context, params.product, body);
      const answer = toAnswer(manifest);
      return reply
        .status(201)
        .header('location', answer.model.replace(/\/model\.glb$/, ''))
        .send(answer);
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/deliveries',
    { schema: { summary: 'Deliveries, the newest first', tags: ['deliveries'] } },
    async ({ params }): Promise<DeliveryListAnswer> => {
      const { code } = await getProduct(context, params.product);
      const deliveries = await context.stores.listDeliveries(code);
      return { deliveries: deliveries.map((delivery) => ({ ...delivery, ...addresses(code, delivery.delivery) })) };
    },
  );

  app.get<ByDelivery>(
    '/api/products/:product/deliveries/:delivery',
    { schema: { summary: 'A delivery', tags: ['deliveries'] } },
    async ({ params }) => toAnswer(await getManifest(context, params)),
  );

  app.get<ByDelivery>(
    '/api/products/:product/deliveries/:delivery/manifest.json',
    { schema: { summary: 'What was delivered, and from what', tags: ['deliveries'] } },
    async ({ params }) => getManifest(context, params),
  );

  app.get<ByDelivery>(
    '/api/products/:product/deliveries/:delivery/model.glb',
    { schema: { summary: 'The delivered file', tags: ['deliveries'] } },
    async (request, reply) => {
      const manifest = await getManifest(context, request.params);
      const { sha256, bytes, mediaType } = manifest.file;
      const fileName = `${manifest.product}-${manifest.delivery}.glb`;
      return sendFile(request, reply, context.files.getPath(sha256), {
        sha256,
        bytes,
        mediaType,
        fileName,
        immutable: true,
      });
    },
  );
}

async function getManifest(context: Context, params: ByDelivery['Params']): Promise<DeliveryManifest> {
  const { code } = await getProduct(context, params.product);
  const number = /^\d{1,9}$/.test(params.delivery) ? Number(params.delivery) : -1;
  const manifest = await context.stores.getDelivery(code, number);
  if (manifest) return manifest;
  throw new Problem('unknown-delivery', {
    detail: `${code} has no delivery ${params.delivery.slice(0, 40)}.`,
    received: params.delivery.slice(0, 40),
  });
}

function toAnswer(manifest: DeliveryManifest): DeliveryAnswer {
  return {
    delivery: manifest.delivery,
    sha256: manifest.file.sha256,
    bytes: manifest.file.bytes,
    variants: manifest.variants.length,
    findings: manifest.findings,
    ...addresses(manifest.product, manifest.delivery),
  };
}

function addresses(product: string, delivery: number): { model: string; manifest: string } {
  const base = `/api/products/${encodeURIComponent(product)}/deliveries/${delivery}`;
  return { model: `${base}/model.glb`, manifest: `${base}/manifest.json` };
}
