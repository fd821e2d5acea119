import { createHash, timingSafeEqual } from 'node:crypto';
import { isIP } from 'node:net';
import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { Static } from 'typebox';
import type { Config, PublicPart } from '../config.ts';
import { Problem } from '../core/problems.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';
import { SessionBody } from './contracts/service.ts';
import { noContent } from './responses.ts';
import { allowCaching } from './send-bytes.ts';

declare module 'fastify' {
  interface FastifyRequest {
    /** True for an address that `DYEWORKS_PUBLIC` opens for reading, whoever calls. */
    open: boolean;
    /** True for a caller without the token, where one is set but not needed, or from a page of another site. */
    guest: boolean;
  }
}

const COOKIE = 'dyeworks-session';
const LOOPBACK = new Set(['localhost', '127.0.0.1', '[::1]']);
const ANY_HOST = new Set(['0.0.0.0', '::']);

/** Routes that a public part opens for reading. Routes, not URLs: the same URL can be spelled in many ways. */
const PUBLIC: readonly [RegExp, PublicPart][] = [
  [/^\/api\/products\/:product\/deliveries(\/|$)/, 'deliveries'],
  [/^\/api\/products\/:product\/(pictures\/:file|picture\.(png|webp|jpg))$/, 'pictures'],
  [/^\/api\/finishes\/:finish\/swatch\.(png|webp|jpg)$/, 'pictures'],
];

/**
 * Checks every call before its body is read: the Host is ours (another site's name could resolve to this address), the Origin is
 * the same, no page of another site asks, and the caller has the token if one is set.
 */
export function addRequestGuard(app: FastifyInstance, config: Config): void {
  const session = config.token === null ? null : digest(`session ${config.token}`);

  app.decorateRequest('open', false);
  app.decorateRequest('guest', false);

  app.addHook('onRequest', async (request, reply) => {
    reply.header('x-content-type-options', 'nosniff').header('referrer-policy', 'no-referrer');
    checkHost(request, config);
    const open = isPublic(request, config);
    request.open = open;
    allowCaching(request, reply);
    if (open) reply.header('access-control-allow-origin', '*').header('cross-origin-resource-policy', 'cross-origin');
    else {
      reply.header('cross-origin-resource-policy', 'same-origin');
      checkOrigin(request);
      checkSite(request);
    }
    // Without a token, callers on this machine are its owner's programs, but a page of another site is not.
    request.guest =
      session === null
        ? open && comesFromElsewhere(request)
        : (open || !needsToken(request)) && !hasToken(request, config.token!, session);
    if (session !== null && !open && needsToken(request) && !hasToken(request, config.token!, session)) {
      throw new Problem('token-needed', {
        detail: REQUEST_PROBLEMS['token-needed'].missing,
      });
    }
  });

  app.post<{ Body: Static<typeof SessionBody> }>(
    '/api/session',
    {
      schema: {
        summary: 'Exchange the token for a cookie, which the pages use',
        tags: ['service'],
        body: SessionBody,
        response: noContent,
      },
    },
    async (request, reply) => {
      if (session === null) return reply.status(204).send();
      if (!same(request.body.token, config.token!)) {
        throw new Problem('token-needed', { detail: REQUEST_PROBLEMS['token-needed'].wrong });
      }
      const secure = request.protocol === 'https' ? '; Secure' : '';
      return reply
        .header('set-cookie', `${COOKIE}=${session}; Path=/; HttpOnly; SameSite=Strict${secure}`)
        .status(204)
        .send();
    },
  );
}

function checkHost(request: FastifyRequest, config: Config): void {
  const host = request.headers.host ?? '';
  const name = host.replace(/:\d+$/, '').toLowerCase();
  const own = config.host.includes(':') ? `[${config.host}]` : config.host.toLowerCase();
  if (LOOPBACK.has(name) || name === own || config.hostNames.has(name)) return;
  if (ANY_HOST.has(config.host) && isIP(name.replace(/^\[|\]$/g, '')) !== 0) return;
  throw new Problem('foreign-host', {
    detail: REQUEST_PROBLEMS['foreign-host'](host.slice(0, 100)),
    received: host.slice(0, 100),
  });
}

function checkOrigin(request: FastifyRequest): void {
  const { origin, host } = request.headers;
  if (origin === undefined) return;
  if (origin === `http://${host}` || origin === `https://${host}`) return;
  throw new Problem('foreign-origin', {
    detail: REQUEST_PROBLEMS['foreign-origin'],
    received: origin.slice(0, 100),
  });
}

/**
 * Browsers say which site a request comes from (Fetch Metadata, `Sec-Fetch-Site`), also where they send no Origin: a page of
 * another site could show an image from here, and each would cost the studio seconds. `same-site` counts as another site,
 * because every port of this machine, and every host of a company's domain, is the same site. A link from elsewhere may open
 * a page of ours, which then loads its data itself. Programs without a browser do not send the header.
 * @throws Problem `foreign-site`
 */
function checkSite(request: FastifyRequest): void {
  if (!comesFromElsewhere(request) || opensPage(request)) return;
  throw new Problem('foreign-site', {
    detail: REQUEST_PROBLEMS['foreign-site'],
    received: String(request.headers['sec-fetch-site']).slice(0, 40),
  });
}

/** `none` is an address that a person has typed, or a bookmark. */
function comesFromElsewhere({ headers }: FastifyRequest): boolean {
  const site = headers['sec-fetch-site'];
  return site !== undefined && site !== 'same-origin' && site !== 'none';
}

/** Whether the browser opens one of our pages in a tab. In a frame, the page would not show anyway (`frame-ancestors`). */
function opensPage({ method, headers, routeOptions }: FastifyRequest): boolean {
  const opens = headers['sec-fetch-mode'] === 'navigate' && (headers['sec-fetch-dest'] ?? 'document') === 'document';
  return opens && method === 'GET' && !isData(routeOptions.url);
}

function isPublic(request: FastifyRequest, { publicParts }: Config): boolean {
  if (request.method !== 'GET' && request.method !== 'HEAD') return false;
  const route = request.routeOptions.url ?? '';
  return PUBLIC.some(([pattern, part]) => publicParts.has(part) && pattern.test(route));
}

/**
 * The files of the pages contain no product data, and the pages ask for the token. Supervisors ask for `/health` and `/ready`
 * without one. Everything else needs it.
 */
function needsToken(request: FastifyRequest): boolean {
  const route = request.routeOptions.url;
  if (route === '/api/session') return false;
  return (isData(route) && !isProbe(route)) || route === '/docs';
}

function isProbe(route: string | undefined): boolean {
  return route === '/health' || route === '/ready';
}

/** All routes but pages and their files. */
function isData(route: string | undefined): boolean {
  return route === undefined || route.startsWith('/api/') || isProbe(route);
}

function hasToken(request: FastifyRequest, token: string, session: string): boolean {
  const bearer = /^Bearer +(.+)$/i.exec(request.headers.authorization ?? '')?.[1];
  if (bearer !== undefined) return same(bearer, token);
  const cookies = (request.headers.cookie ?? '').split(/;\s*/);
  const cookie = cookies.find((entry) => entry.startsWith(`${COOKIE}=`))?.slice(COOKIE.length + 1);
  return cookie !== undefined && same(cookie, session);
}

/** Compares digests, so that the time taken reveals neither length nor content. */
function same(a: string, b: string): boolean {
  return timingSafeEqual(Buffer.from(digest(a)), Buffer.from(digest(b)));
}

function digest(text: string): string {
  return createHash('sha256').update(text).digest('hex');
}
