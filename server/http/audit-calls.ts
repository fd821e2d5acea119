import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { Access } from '../actions/access.ts';
import type { AuditRecord } from '../core/access/audit.ts';
import { PERSON, readAuthor } from './request-parsing.ts';
import { neededBy } from './route-access.ts';
import { readOrigin } from './routes/access.ts';

/** Characters of a code or name in an entry. */
const LONGEST = 200;

/** Routes whose successful calls are recorded as events, in the transaction of their change. */
const RECORDED_AS_EVENTS = /^\/api\/(account|people)(\/|$)/;

/**
 * Records each call that may change something, with its outcome, before the caller gets the answer: also those that a role
 * forbids. Calls without a sign-in change nothing and are not recorded, so that strangers cannot fill the disk; attempts to
 * sign in are slowed, and record themselves.
 */
export function auditCalls(app: FastifyInstance, access: Access): void {
  app.addHook('onSend', async (request, reply, payload) => {
    if (!isRecorded(request)) return payload;
    const { statusCode: status } = reply;
    // a caller beyond the limit changes nothing, and must not fill the disk
    if (status === 429) return payload;
    if (status < 400 && RECORDED_AS_EVENTS.test(request.routeOptions.url ?? '')) return payload;
    const isProblem = String(reply.getHeader('content-type') ?? '').startsWith('application/problem+json');
    const refusal = isProblem && typeof payload === 'string' ? (JSON.parse(payload) as { code: string }).code : null;
    const record: AuditRecord = {
      ...readOrigin(request),
      at: access.now().toISOString(),
      what: `${request.method} ${request.routeOptions.url}`,
      about: describeSubject(request),
      status,
      refusal,
    };
    try {
      await access.store.addRecord(record);
    } catch (error) {
      // the change is stored, or was refused; a full disk is the usual cause
      request.log.error({ err: error, record }, 'an entry of the audit could not be written');
    }
    return payload;
  });
}

function isRecorded(request: FastifyRequest): boolean {
  if (request.method === 'GET' || request.method === 'HEAD' || request.method === 'OPTIONS') return false;
  return request.caller !== null && request.routeOptions.url !== undefined && neededBy(request) !== 'anyone';
}

function describeSubject(request: FastifyRequest): Record<string, string> {
  const { line } = (request.body ?? {}) as { readonly line?: unknown };
  const { code } = (request.body ?? {}) as { readonly code?: unknown };
  const about: Record<string, unknown> = { code, line, ...(request.params as object) };
  // without a proven person, the name that the call states
  if (request.caller?.person === null && request.headers[PERSON] !== undefined) about.stated = readStated(request);
  return Object.fromEntries(
    Object.entries(about).flatMap(([key, value]) =>
      typeof value === 'string' ? [[key, value.slice(0, LONGEST)]] : [],
    ),
  );
}

function readStated({ headers }: FastifyRequest): string | null {
  try {
    return readAuthor(headers).person;
  } catch {
    return null;
  }
}
