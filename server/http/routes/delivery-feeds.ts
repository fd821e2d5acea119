import { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { FEED_FORMATS, type FeedFormat, openFeed } from '../../actions/shop-feed.ts';
import { FeedQuery } from '../contracts/delivery.ts';
import { download } from '../responses.ts';

type ByDelivery = { Params: { product: string; delivery: string } };

const TYPES: Readonly<Record<FeedFormat, string>> = {
  csv: 'text/csv; charset=utf-8',
  json: 'application/json; charset=utf-8',
  jsonld: 'application/ld+json; charset=utf-8',
};

/**
 * The shop data of a delivery. Their addresses are absolute, since shops keep them apart from the feed.
 * @param address what stands before each path of this service; null: as the caller addresses it
 */
export function addDeliveryFeedRoutes(app: FastifyInstance, context: Context, address: string | null): void {
  for (const format of FEED_FORMATS) {
    app.get<ByDelivery & { Querystring: FeedQuery }>(
      `/api/products/:product/deliveries/:delivery/feed.${format}`,
      {
        schema: {
          tags: ['deliveries'],
          summary: `Download the shop data of a delivery as ${{ csv: 'CSV', json: 'JSON', jsonld: 'JSON-LD' }[format]}`,
          ...(format === 'csv' && { querystring: FeedQuery }),
          response: download(TYPES[format].split(';')[0]!),
        },
      },
      async (request, reply) => {
        const { params, query } = request;
        const base = address ?? `${request.protocol}://${request.host}`;
        const { manifest, text } = await openFeed(context, params.product, params.delivery, {
          format,
          base,
          bom: query.bom === '1',
        });
        const name = `${manifest.product}-${manifest.delivery}-feed.${format}`;
        return reply
          .type(TYPES[format])
          .header('content-disposition', `attachment; filename="${name.replace(/[^\w.-]/g, '_')}"`)
          .send(Readable.from(text));
      },
    );
  }
}
