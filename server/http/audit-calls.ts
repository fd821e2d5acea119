import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { Access } from '../actions/access.ts';
import type { AuditRecord } from '../core/access/audit.ts';
import type { CallRecord } from '../core/ports/access.ts';
import { PERSON, readAuthor } from './request-parsing.ts';
import { neededBy } from './route-access.ts';
import { readOrigin } from './routes/access.ts';

/** Characters of a code or name in an entry. */
const LONGEST = 200;

/** Routes whose successful calls are recorded as events, by the stores of people. */
const RECORDED_AS_EVENTS = /^\/api\/(account|people)(\/|$)/;

declare module 'fastify' {
  interface FastifyRequest {
    /** The record of a call that may change something of the trade. */
    record: CallRecord | null;
  }
}

/**
 * Records each call that may change something. What changes the trade is recorded in the transaction of the change; a call that
 * changes nothing or is refused, before the caller gets the answer. Calls without a sign-in change nothing and are not recorded,
 * so that strangers cannot fill the disk; attempts to sign in are slowed, and record themselves.
 */
export function auditCalls(app: FastifyInstance, access: Access): void {
  app.decorateRequest('record', null);

  app.addHook('preHandler', (request, _reply, done) => {
    if (!isRecorded(request) || isEvent(request)) return done();
    request.record = { make: () => describe(request, null, null), written: false };
    access.store.recordIn(request.record, done);
  });

  app.addHook('onSend', async (request, reply, payload) => {
    if (!isRecorded(request)) return payload;
    const { statusCode: status } = reply;
    // a caller beyond the limit changes nothing, and must not fill the disk
    if (status === 429) return payload;
    if (status < 400 && (request.record?.written || isEvent(request))) return payload;
    const isProblem = String(reply.getHeader('content-type') ?? '').startsWith('application/problem+json');
    const refusal = isProblem && typeof payload === 'string' ? (JSON.parse(payload) as { code: string }).code : null;
    const record = describe(request, status, refusal);
    try {
      await access.store.addRecord(record);
      // what goes on after the answer, such as a job, belongs to the call
      if (request.record && status < 400) request.record.written = true;
    } catch (error) {
      // nothing is changed; a full disk is the usual cause
      request.log.error({ err: error, record }, 'an entry of the audit could not be written');
    }
    return payload;
  });

  function describe(request: FastifyRequest, status: number | null, refusal: string | null): AuditRecord {
    return {
      ...readOrigin(request),
      at: access.now().toISOString(),
      what: `${request.method} ${request.routeOptions.url}`,
      about: describeSubject(request),
      status,
      refusal,
    };
  }
}

const isEvent = ({ routeOptions: { url = '' } }: FastifyRequest) => RECORDED_AS_EVENTS.test(url);

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
