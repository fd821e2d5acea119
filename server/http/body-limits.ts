import type { FastifyInstance } from 'fastify';

const KIB = 1024;
const MIB = 1024 * KIB;

/** JSON of every call that is not listed below: a finish with a spectrum and its names has a tenth of this. */
const USUAL_LIMIT_BYTES = 256 * KIB;

/**
 * Calls whose JSON can be longer, by method and route.
 * - A schedule of twenty thousand rows has about four megabytes, as has a range of fifty thousand finishes.
 * - Twenty thousand codes of variants have 1.3 MB.
 * - Repairs list pieces of a model by their ids.
 */
const LONGER: Readonly<Record<string, number>> = {
  'PUT /api/products/:product/schedule': 8 * MIB,
  'PUT /api/lines/:line': 8 * MIB,
  'PUT /api/lines/:line/rules': 2 * MIB,
  'POST /api/products/:product/schedule/rename': 2 * MIB,
  'POST /api/products/:product/pictures': 2 * MIB,
  'POST /api/products/:product/picture-sets/:set': 2 * MIB,
  'POST /api/products/:product/repairs': 4 * MIB,
  'PUT /api/products/:product/preparation': 4 * MIB,
  'PATCH /api/products/:product/slots/:slot': MIB,
  'PUT /api/picture-sets/:set': MIB,
};

/**
 * Limits the JSON body of each route, and states the limit in the API description. A route that sets its own `bodyLimit`, such
 * as those of images, keeps it. Models are read as streams, with a limit of their own.
 */
export function limitBodies(app: FastifyInstance, mostBytes: number): void {
  app.addHook('onRoute', (route) => {
    if (route.bodyLimit !== undefined) return;
    const limit = LONGER[`${route.method} ${route.url}`] ?? USUAL_LIMIT_BYTES;
    route.bodyLimit = Math.min(limit, mostBytes);
    if (route.schema?.body === undefined) return;
    const stated = `The body has at most ${limit / KIB} KiB.`;
    route.schema = { ...route.schema, description: [route.schema.description, stated].filter(Boolean).join(' ') };
  });
}
