import type { FastifyInstance } from 'fastify';
import type { Context } from '../actions/context.ts';
import { requireNotWithdrawn } from '../actions/withdraw-delivery.ts';

/** Everything below the address of a delivery is a file of it, but its record: manifest, changes, weight. */
const FILE = /^\/api\/products\/:product\/deliveries\/:delivery\/(?!(manifest\.json|changes|weight)$)/;

/** Answers every file of a withdrawn delivery with 410. In one place, so that no route of a file can forget it. */
export function refuseWithdrawnFiles(app: FastifyInstance, context: Context): void {
  app.addHook<{ Params: { product: string; delivery: string } }>(
    'preHandler',
    async ({ method, params, routeOptions }) => {
      if ((method !== 'GET' && method !== 'HEAD') || !FILE.test(routeOptions.url ?? '')) return;
      await requireNotWithdrawn(context, params.product, params.delivery);
    },
  );
}
