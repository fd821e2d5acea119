import { Transform } from 'node:stream';
import rateLimit from '@fastify/rate-limit';
import type { FastifyInstance, FastifyRequest } from 'fastify';
import { addressKey } from '../actions/access.ts';
import type { Config } from '../config.ts';
import { Problem } from '../core/problems.ts';
import { ACCESS_PROBLEMS } from '../core/texts/problems/access.ts';
import { CallCounts } from './call-counts.ts';

const MINUTE_MS = 60_000;
/** Calls to sign in, per minute and address. Each costs a tenth of a second of computing; wrong ones are slowed long before. */
const SIGN_INS = 60;
const SIGN_IN_ROUTES: ReadonlySet<string> = new Set(['/api/sign-in', '/api/passphrase', '/api/sign-in/house']);

/**
 * Limits the calls of one caller per minute: of a person, of the holders of the service's token at one address, or of guests at
 * one address. The open loopback has no limit: its callers are programs of whoever runs the service.
 */
export async function limitCalls(app: FastifyInstance, { callsPerMinute }: Config): Promise<void> {
  if (callsPerMinute === 0) return;
  app.addHook('onRoute', (route) => {
    if (!SIGN_IN_ROUTES.has(route.url)) return;
    route.config = { ...route.config, rateLimit: { max: Math.min(SIGN_INS, callsPerMinute) } };
  });
  const off = {
    'x-ratelimit-limit': false,
    'x-ratelimit-remaining': false,
    'x-ratelimit-reset': false,
    'retry-after': false,
  };
  await app.register(rateLimit, {
    max: callsPerMinute,
    timeWindow: MINUTE_MS,
    store: CallCounts,
    keyGenerator: ({ caller, ip }) => (caller?.person ? `person ${caller.person.account}` : addressKey(ip)),
    allowList: (request) => request.caller?.by === 'open' || !isCounted(request),
    addHeaders: off,
    addHeadersOnExceeding: off,
    errorResponseBuilder: (_request, { ttl }) => {
      const seconds = Math.max(1, Math.ceil(ttl / 1000));
      return new Problem('too-many-calls', {
        detail: ACCESS_PROBLEMS['too-many-calls'](seconds),
        retryAfterS: seconds,
      });
    },
  });
}

/** Files of the pages cost little, and supervisors must always get an answer. */
const isCounted = ({ routeOptions: { url } }: FastifyRequest) => url?.startsWith('/api/') ?? false;

/** Limits what editors and approvers send at once. An owner has the limit of the service. A viewer sends nothing large at all. */
export function limitUploads(app: FastifyInstance, { editorLimitBytes: limit }: Config): void {
  const isLimited = ({ caller }: FastifyRequest) => caller !== null && caller.grant.role !== 'owner';

  app.addHook('onRequest', async (request) => {
    if (isLimited(request) && Number(request.headers['content-length'] ?? 0) > limit) throw refuse(request, limit);
  });

  // a body without a stated length is counted on the way
  app.addHook('preParsing', async (request, _reply, payload) => {
    if (!isLimited(request) || request.headers['content-length'] !== undefined) return payload;
    let bytes = 0;
    const counted = new Transform({
      transform(chunk: Buffer, _encoding, done) {
        bytes += chunk.length;
        if (bytes > limit) done(refuse(request, limit));
        else done(null, chunk);
      },
    });
    payload.on('error', (error) => counted.destroy(error));
    return payload.pipe(counted);
  });
}

function refuse({ caller }: FastifyRequest, limit: number): Problem {
  const role = caller!.grant.role;
  return new Problem('body-too-large', {
    detail: ACCESS_PROBLEMS['body-too-large'](role, limit),
    expected: { role, bytes: limit },
  });
}
