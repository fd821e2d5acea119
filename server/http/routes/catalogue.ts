import { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { listCatalogue } from '../../actions/list-catalogue.ts';
import { PICTURE_SIZE_PX } from '../../core/picture/picture.ts';
import { CatalogueQuery } from '../contracts/picture.ts';
import { writeZip } from '../write-zip.ts';

export function addCatalogueRoute(app: FastifyInstance, context: Context): void {
  app.get<{ Params: { product: string }; Querystring: CatalogueQuery }>(
    '/api/products/:product/catalogue.zip',
    {
      // asking for the head would make every picture for nobody
      exposeHeadRoute: false,
      schema: {
        summary: 'Schedule, finishes, swatches and a picture of every variant as one zip, sent while they are made',
        tags: ['pictures'],
        querystring: CatalogueQuery,
      },
    },
    async ({ params, query }, reply) => {
      const files = await listCatalogue(context, params.product, query.size ?? PICTURE_SIZE_PX.default);
      return reply
        .type('application/zip')
        .header('cache-control', 'no-cache')
        .header('content-disposition', `attachment; filename="${params.product.replace(/[^\w.-]/g, '_')}.zip"`)
        .send(Readable.from(writeZip(files)));
    },
  );
}
