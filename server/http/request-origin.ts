import { isIP } from 'node:net';
import type { FastifyRequest } from 'fastify';
import type { Config } from '../config.ts';
import { Problem } from '../core/problems.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';

// Which host a request is for, and which site it comes from.

const LOOPBACK = new Set(['localhost', '127.0.0.1', '[::1]']);
const ANY_HOST = new Set(['0.0.0.0', '::']);

/**
 * The Host must be ours: another site's name could resolve to this address.
 * @throws Problem `foreign-host`
 */
export function checkHost(request: FastifyRequest, config: Config): void {
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

/** @throws Problem `foreign-origin` */
export function checkOrigin(request: FastifyRequest): void {
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
export function checkSite(request: FastifyRequest): void {
  if (!comesFromElsewhere(request) || opensPage(request)) return;
  throw new Problem('foreign-site', {
    detail: REQUEST_PROBLEMS['foreign-site'],
    received: String(request.headers['sec-fetch-site']).slice(0, 40),
  });
}

/** `none` is an address that a person has typed, or a bookmark. */
export function comesFromElsewhere({ headers }: FastifyRequest): boolean {
  const site = headers['sec-fetch-site'];
  return site !== undefined && site !== 'same-origin' && site !== 'none';
}

/** Whether the browser opens one of our pages in a tab. In a frame, the page would not show anyway (`frame-ancestors`). */
function opensPage({ method, headers, routeOptions }: FastifyRequest): boolean {
  const opens = headers['sec-fetch-mode'] === 'navigate' && (headers['sec-fetch-dest'] ?? 'document') === 'document';
  return opens && method === 'GET' && !isData(routeOptions.url);
}

/** All routes but pages and their files. */
function isData(route: string | undefined): boolean {
  return route === undefined || route.startsWith('/api/') || route === '/health' || route === '/ready';
}
