import type { FastifyInstance } from 'fastify';
import { checkProduct } from '../../actions/check-product.ts';
import type { Context } from '../../actions/context.ts';
import { deleteProduct } from '../../actions/delete-product.ts';
import { type LoadedProduct, loadProduct, requireModel } from '../../actions/load-product.ts';
import { addProduct, changeProduct } from '../../actions/put-product.ts';
import type { ProductAnswer, ProductListAnswer, ReadinessAnswer, SurveyAnswer } from '../answers.ts';
import { ProductBody, ProductChange } from '../contracts/product.ts';
import { SurveyQuery } from '../contracts/repair.ts';

type ByProduct = { Params: { product: string } };

export function addProductRoutes(app: FastifyInstance, context: Context): void {
  const { stores } = context;

  app.get(
    '/api/products',
    { schema: { summary: 'Products', tags: ['products'] } },
    async (): Promise<ProductListAnswer> => {
      const products = await stores.listProducts();
      return { products: await Promise.all(products.map(({ code }) => describeProduct(context, code))) };
    },
  );

  app.post<{ Body: ProductBody }>(
    '/api/products',
    { schema: { summary: 'Add a product', tags: ['products'], body: ProductBody } },
    async ({ body: { code, ...given } }, reply) => {
      await addProduct(context, code, given);
      return reply
        .status(201)
        .header('location', `/api/products/${code}`)
        .send(await describeProduct(context, code));
    },
  );

  app.get<ByProduct>(
    '/api/products/:product',
    { schema: { summary: 'A product', tags: ['products'] } },
    async ({ params }) => describeProduct(context, params.product),
  );

  app.patch<ByProduct & { Body: ProductChange }>(
    '/api/products/:product',
    { schema: { summary: 'Change a product', tags: ['products'], body: ProductChange } },
    async ({ params, body }) => {
      await changeProduct(context, params.product, body);
      return describeProduct(context, params.product);
    },
  );

  app.delete<ByProduct>(
    '/api/products/:product',
    { schema: { summary: 'Delete a product with its models, schedule, deliveries and approvals', tags: ['products'] } },
    async ({ params }, reply) => {
      await deleteProduct(context, params.product);
      return reply.status(204).send();
    },
  );

  app.get<ByProduct & { Querystring: SurveyQuery }>(
    '/api/products/:product/survey',
    {
      schema: {
        summary: 'What the model contains, measured; with pieces=1 its connected islands too',
        tags: ['products'],
        querystring: SurveyQuery,
      },
    },
    async ({ params, query }): Promise<SurveyAnswer> => {
      const { survey, revision } = requireModel(await loadProduct(context, params.product));
      if (query.pieces !== '1') return survey;
      return { ...survey, pieces: await stores.listPieces(params.product, revision) };
    },
  );

  app.get<ByProduct>(
    '/api/products/:product/readiness',
    { schema: { summary: 'Verdict and findings', tags: ['products'] } },
    async ({ params }): Promise<ReadinessAnswer> => {
      const loaded = await loadProduct(context, params.product);
      requireModel(loaded);
      return checkProduct(loaded);
    },
  );
}

async function describeProduct(context: Context, code: string): Promise<ProductAnswer> {
  const loaded = await loadProduct(context, code);
  const deliveries = await context.stores.listDeliveries(code);
  const { product, model, schedule } = loaded;
  return {
    ...product,
    size: model?.survey.size ?? null,
    model: model && { revision: model.revision, sha256: model.sha256, bytes: model.bytes },
    verdict: checkProduct(loaded).verdict,
    variants: schedule?.schedule.variants.length ?? 0,
    defaultVariant: schedule?.schedule.default ?? null,
    deliveries: deliveries.length,
    picture: addressPicture(loaded),
  };
}

function addressPicture({ product, model, schedule }: LoadedProduct): string | null {
  if (!model || model.survey.counts.triangles === 0) return null;
  const base = `/api/products/${encodeURIComponent(product.code)}`;
  return schedule ? `${base}/pictures/${encodeURIComponent(schedule.schedule.default)}.webp` : `${base}/picture.webp`;
}
