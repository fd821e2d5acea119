import type { FastifyInstance, FastifyRequest } from 'fastify';
import { ROLES, type Role } from '../core/access/role.ts';

/**
 * Routes of single pictures of products and finishes. `DYEWORKS_PUBLIC` can open them, and each call may take the studio.
 * Routes, not URLs: the same URL can be spelled in many ways.
 */
export const PICTURE_ROUTE =
  /^\/api\/(products\/:product\/(pictures\/:file|picture\.(png|webp|jpg))|finishes\/:finish\/swatch\.(png|webp|jpg))$/;

/** Who may call a route: a role, or anyone, without a sign-in. */
export type Needs = Role | 'anyone';

declare module 'fastify' {
  interface FastifyContextConfig {
    needs?: Needs;
    /** The route is not listed here. It needs an owner, and a test fails. */
    undeclared?: true;
  }
}

const VIEWER = [
  'GET /docs',
  'GET /api/openapi.json',
  'GET /api/account',
  'PUT /api/account/passphrase',
  'DELETE /api/account/sessions',
  'DELETE /api/account/sessions/:session',
  'POST /api/account/tokens',
  'DELETE /api/account/tokens/:token',
  'GET /api/lines',
  'GET /api/lines/:line',
  'GET /api/lines/:line/rules',
  'GET /api/lines/:line/colour-card.pdf',
  'GET /api/products',
  'GET /api/products/:product',
  'GET /api/products/:product/survey',
  'GET /api/products/:product/readiness',
  'GET /api/products/:product/slots',
  'GET /api/products/:product/slots/:slot',
  'GET /api/products/:product/model.glb',
  'GET /api/products/:product/look',
  'GET /api/products/:product/pieces.bin',
  'GET /api/products/:product/studio/:key.glb',
  'GET /api/products/:product/preparation',
  'GET /api/products/:product/revisions',
  'GET /api/products/:product/revisions/:revision/model.glb',
  'GET /api/products/:product/schedule',
  'GET /api/products/:product/schedule.pdf',
  'GET /api/products/:product/schedule/count',
  'GET /api/products/:product/schedule/check-set.pdf',
  'GET /api/products/:product/deliveries',
  'GET /api/products/:product/deliveries/pending',
  'GET /api/products/:product/deliveries/:delivery',
  'GET /api/products/:product/deliveries/:delivery/changes',
  'GET /api/products/:product/deliveries/:delivery/manifest.json',
  'GET /api/products/:product/deliveries/:delivery/weight',
  'GET /api/products/:product/deliveries/:delivery/feed.csv',
  'GET /api/products/:product/deliveries/:delivery/feed.json',
  'GET /api/products/:product/deliveries/:delivery/feed.jsonld',
  'GET /api/products/:product/deliveries/:delivery/model.glb',
  'GET /api/products/:product/deliveries/:delivery/variants/:variant(^.+).glb',
  'GET /api/products/:product/deliveries/:delivery/parts/:part(^.+).glb',
  'GET /api/products/:product/deliveries/:delivery/forms/:form(^.+).glb',
  'GET /api/products/:product/deliveries/:delivery/variants/:variant(^.+).usdz',
  'GET /api/products/:product/deliveries/:delivery/product.usdz',
  'GET /api/products/:product/deliveries/:delivery/samples.glb',
  'GET /api/products/:product/deliveries/:delivery/bundle.zip',
  'GET /api/lines/:line/approvals',
  'GET /api/products/:product/approvals',
  'GET /api/products/:product/variants/:variant/approvals',
  'GET /api/products/:product/pictures/:file',
  'GET /api/products/:product/picture.png',
  'GET /api/products/:product/picture.webp',
  'GET /api/products/:product/picture.jpg',
  'GET /api/products/:product/picture.json',
  'GET /api/products/:product/catalogue.zip',
  'GET /api/products/:product/picture-sets/:set',
  'GET /api/products/:product/picture-sets/:set(^.+).zip',
  'GET /api/products/:product/picture-sets/:set/files/:file',
  'GET /api/budgets',
  'GET /api/budgets/:budget',
  'GET /api/picture-sets',
  'GET /api/picture-sets/:set',
  'GET /api/finishes',
  'GET /api/finishes/indistinguishable',
  'GET /api/finishes/import/example.csv',
  'GET /api/finishes/:finish',
  'GET /api/finishes/:finish/where-used',
  'GET /api/finishes/:finish/revisions',
  'GET /api/finishes/:finish/revisions/:revision',
  'GET /api/finishes/:finish/approvals',
  'GET /api/finishes/:finish/swatch.png',
  'GET /api/finishes/:finish/swatch.webp',
  'GET /api/finishes/:finish/swatch.jpg',
  'GET /api/finishes/:finish/swatch.json',
  'GET /api/articles',
  'GET /api/articles/:article',
  'GET /api/articles/:article/revisions',
  'GET /api/articles/:article/revisions/:revision',
  'GET /api/files/:sha256',
  'GET /api/files/:sha256/image',
  'GET /api/jobs',
  'GET /api/jobs/:id',
  'GET /api/jobs/:id/pictures',
  'GET /api/jobs/:id/events',
];

const EDITOR = [
  'PUT /api/lines/:line',
  'PUT /api/lines/:line/rules',
  'POST /api/lines/:line/discontinue',
  'POST /api/lines/:line/pictures',
  'POST /api/products',
  'PATCH /api/products/:product',
  'PATCH /api/products/:product/slots/:slot',
  'PUT /api/products/:product/model',
  'POST /api/products/:product/model/take-variants',
  'POST /api/products/:product/repairs',
  'PUT /api/products/:product/preparation',
  'POST /api/products/:product/preparation/replay',
  'POST /api/products/:product/revisions/:revision/use',
  'PUT /api/products/:product/schedule',
  'DELETE /api/products/:product/schedule',
  'POST /api/products/:product/schedule/expand',
  'POST /api/products/:product/schedule/rename',
  'POST /api/products/:product/schedule/check-set',
  'POST /api/products/:product/deliveries',
  'POST /api/products/:product/deliveries/:delivery/split',
  'POST /api/products/:product/pictures',
  'POST /api/products/:product/picture-sets/:set',
  'PUT /api/budgets/:budget',
  'DELETE /api/budgets/:budget',
  'PUT /api/picture-sets/:set',
  'DELETE /api/picture-sets/:set',
  'PUT /api/finishes/:finish',
  'POST /api/finishes/import',
  'PUT /api/articles/:article',
  'POST /api/files',
  'DELETE /api/jobs/:id',
];

/** A finish that is deleted takes the decisions on it along. A withdrawn delivery is missing in every shop that uses it. */
const APPROVER = [
  'POST /api/products/:product/deliveries/:delivery/withdraw',
  'POST /api/finishes/:finish/approvals',
  'POST /api/products/:product/variants/:variant/approvals',
  'DELETE /api/finishes/:finish',
];

/** A product that is deleted takes its deliveries and the decisions on it along. An archive has the audit of its line. */
const OWNER = [
  'GET /api/lines/:line/archive.zip',
  'POST /api/archives',
  'GET /api/archives',
  'DELETE /api/products/:product',
  'DELETE /api/lines/:line',
  'GET /api/people',
  'POST /api/people',
  'PATCH /api/people/:account',
  'GET /api/people/:account/access',
  'POST /api/people/:account/link',
  'DELETE /api/people/:account/sessions',
  'DELETE /api/people/:account/sessions/:session',
  'DELETE /api/people/:account/tokens/:token',
  'GET /api/audit',
  'GET /api/audit.csv',
  'GET /api/audit.jsonl',
];

/** Signing in, and whether the service lives. They give no data of the trade away. */
const ANYONE = [
  'GET /health',
  'GET /ready',
  'GET /api/session',
  'POST /api/session',
  'DELETE /api/session',
  'POST /api/sign-in',
  'GET /api/sign-in/house',
  'POST /api/passphrase',
];

/** Which role each route needs. A route that is not listed needs an owner. */
export const ROUTE_NEEDS: ReadonlyMap<string, Needs> = new Map(
  Object.entries({ anyone: ANYONE, viewer: VIEWER, editor: EDITOR, approver: APPROVER, owner: OWNER }).flatMap(
    ([needs, routes]) => routes.map((route) => [route, needs as Needs] as const),
  ),
);

/** Routes that name a product but also change what belongs to no line: importing variants adds finishes. */
const FOR_ALL_LINES: ReadonlySet<string> = new Set(['/api/products/:product/model/take-variants']);

/** The files of the pages contain no data of the trade; they ask for the sign-in. */
const isApi = (url: string) => url.startsWith('/api/') || url === '/docs' || url === '/health' || url === '/ready';

/** Declares the role of each route in its configuration and, as `x-role`, in the OpenAPI document. */
export function declareAccess(app: FastifyInstance): void {
  app.addHook('onRoute', (route) => {
    const method = route.method === 'HEAD' ? 'GET' : String(route.method);
    const declared = isApi(route.url) ? ROUTE_NEEDS.get(`${method} ${route.url}`) : 'anyone';
    const needs = declared ?? 'owner';
    route.config = { ...route.config, needs, ...(declared === undefined && { undeclared: true }) };
    if (route.schema === undefined || route.schema.hide) return;
    route.schema = { ...route.schema, 'x-role': needs, ...(needs === 'anyone' && { security: [] }) } as never;
  });
}

/** The role that a request needs. An address without a route needs one too, so that guests cannot explore the API. */
export function neededBy(request: FastifyRequest): Needs {
  return request.routeOptions.config.needs ?? (asksForPage(request) ? 'anyone' : ROLES[0]);
}

/** Whether a person opens an address that is not of the API in a browser. An unknown one is answered with a page. */
export function asksForPage({ method, url, headers }: Pick<FastifyRequest, 'method' | 'url' | 'headers'>): boolean {
  return method === 'GET' && !isApi(url.split('?')[0]!) && /\btext\/html\b/.test(headers.accept ?? '');
}

/** What a request is about: a line, a product or a job, which belong to lines; a product to come; or everything else. */
export type Concern =
  | { readonly kind: 'line' | 'product' | 'job'; readonly code: string }
  | { readonly kind: 'new-product' | 'house' };

export function concernOf(request: FastifyRequest): Concern {
  const params = (request.params ?? {}) as Readonly<Record<string, string | undefined>>;
  const url = request.routeOptions.url ?? '';
  if (FOR_ALL_LINES.has(url)) return { kind: 'house' };
  if (url === '/api/products' && request.method === 'POST') return { kind: 'new-product' };
  if (params.line !== undefined) return { kind: 'line', code: params.line };
  if (params.product !== undefined) return { kind: 'product', code: params.product };
  if (params.id !== undefined && url.startsWith('/api/jobs/')) return { kind: 'job', code: params.id };
  return { kind: 'house' };
}
