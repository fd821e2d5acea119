import { STATUS_CODES } from 'node:http';
import type { Socket } from 'node:net';
import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { PROBLEMS, Problem, type ProblemCode, type ProblemDetail, type ProblemKind } from '../core/problems.ts';
import { explainStorageFault } from '../core/storage-faults.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';
import type { ProblemAnswer } from './contracts/service.ts';

const STATUS: Readonly<Record<ProblemKind, number>> = {
  invalid: 400,
  unauthorised: 401,
  forbidden: 403,
  missing: 404,
  gone: 410,
  conflict: 409,
  stale: 412,
  'too-large': 413,
  'too-slow': 408,
  'media-type': 415,
  unprocessable: 422,
  'too-many': 429,
  failed: 500,
  busy: 503,
  'no-space': 507,
  unavailable: 503,
};

/** Seconds that a caller is asked to wait when a queue is full. */
const RETRY_AFTER_S = 5;

/** A problem as `application/problem+json` (RFC 9457). Its cause stays in the log. */
export function describeProblem(code: ProblemCode, more: ProblemDetail) {
  const { kind, title } = PROBLEMS[code];
  const { cause: _, retryAfterS = RETRY_AFTER_S, ...rest } = more;
  const status = STATUS[kind];
  const answer: ProblemAnswer = { type: `urn:dyeworks:problem:${code}`, title, status, code, ...rest };
  const headers: Record<string, string> = {
    'content-type': 'application/problem+json',
    // what is missing, busy or refused now may be there for the next caller
    'cache-control': 'no-store',
  };
  if (kind === 'busy' || kind === 'too-many') headers['retry-after'] = String(retryAfterS);
  if (kind === 'unauthorised') headers['www-authenticate'] = 'Bearer';
  return { status, headers, body: JSON.stringify(answer) };
}

function sendProblem(reply: FastifyReply, code: ProblemCode, more: ProblemDetail): FastifyReply {
  const { status, headers, body } = describeProblem(code, more);
  return reply.status(status).headers(headers).send(body);
}

/** Answers on a connection whose request cannot be read, or did not arrive in time, and closes it. */
export function answerBrokenConnection(error: NodeJS.ErrnoException, socket: Socket): void {
  if (error.code === 'ECONNRESET' || !socket.writable) {
    socket.destroy();
    return;
  }
  const { status, headers, body } =
    error.code === 'ERR_HTTP_REQUEST_TIMEOUT'
      ? describeProblem('body-too-slow', { detail: REQUEST_PROBLEMS['body-too-slow'].headers })
      : describeProblem('bad-request', { detail: REQUEST_PROBLEMS['bad-request'].notHttp });
  const all = { ...headers, 'content-length': Buffer.byteLength(body), connection: 'close' };
  const lines = Object.entries(all).map(([name, value]) => `${name}: ${value}\r\n`);
  socket.end(`HTTP/1.1 ${status} ${STATUS_CODES[status]}\r\n${lines.join('')}\r\n${body}`, () => socket.destroy());
}

/** The only place where errors become answers. */
export function answerError(
  error: FastifyError | Problem | Error,
  request: FastifyRequest,
  reply: FastifyReply,
): FastifyReply {
  if (error instanceof Problem) {
    if (error.kind === 'failed' || error.more.cause)
      request.log.warn({ err: error.more.cause ?? error, code: error.code }, error.message);
    return sendProblem(reply, error.code, error.more);
  }
  const known = translate(error as FastifyError, request.routeOptions?.bodyLimit);
  if (known) return sendProblem(reply, known[0], known[1]);
  const fault = explainStorageFault(error);
  request.log.error({ err: error, ...(fault && { code: fault.code }) }, fault?.message ?? 'a call failed');
  if (fault) return sendProblem(reply, fault.code, fault.more);
  return sendProblem(reply, 'internal', {
    detail: REQUEST_PROBLEMS.internal,
  });
}

/** Puts errors of the framework into our own words. */
function translate(error: FastifyError, bodyLimit: number | undefined): [ProblemCode, ProblemDetail] | null {
  if (error.validation) return describeValidation(error);
  switch (error.code) {
    case 'FST_ERR_CTP_INVALID_MEDIA_TYPE':
      return [
        'media-type',
        {
          detail: REQUEST_PROBLEMS['media-type'].other,
        },
      ];
    case 'FST_ERR_CTP_BODY_TOO_LARGE':
      return [
        'body-too-large',
        { detail: REQUEST_PROBLEMS['body-too-large'].body(bodyLimit), ...(bodyLimit && { expected: bodyLimit }) },
      ];
    case 'FST_ERR_CTP_EMPTY_JSON_BODY':
    case 'FST_ERR_CTP_INVALID_JSON_BODY':
      return ['bad-request', { detail: REQUEST_PROBLEMS['bad-request'].notJson }];
    default: {
      const status = error.statusCode ?? 500;
      return status >= 400 && status < 500
        ? ['bad-request', { detail: REQUEST_PROBLEMS['bad-request'].unreadable(error.message.slice(0, 200)) }]
        : null;
    }
  }
}

function describeValidation(error: FastifyError): [ProblemCode, ProblemDetail] {
  const [first] = error.validation!;
  const part = error.validationContext ?? 'body';
  const where = `${part}${first!.instancePath}`;
  const params = first!.params as Record<string, unknown>;
  const key = (first as { readonly propertyName?: string }).propertyName;
  if (key !== undefined) {
    const received = key.slice(0, 80);
    return ['unknown-field', { detail: REQUEST_PROBLEMS['unknown-field'](received), received, where }];
  }
  if (first!.keyword === 'additionalProperties') {
    return [
      'unknown-field',
      {
        detail: REQUEST_PROBLEMS['unknown-field'](String(params.additionalProperty)),
        received: params.additionalProperty,
        where: `${where}/${params.additionalProperty}`,
      },
    ];
  }
  if (first!.keyword === 'required') {
    return [
      'invalid-field',
      {
        detail: REQUEST_PROBLEMS['invalid-field'].missing(String(params.missingProperty), where),
        expected: params.missingProperty,
        where,
      },
    ];
  }
  const { message = 'is not valid' } = first!;
  return [
    'invalid-field',
    {
      detail: REQUEST_PROBLEMS['invalid-field'].schema(where, message),
      expected: params.allowedValues ?? params,
      where,
    },
  ];
}

export function answerNotFound(method: string, url: string, reply: FastifyReply): FastifyReply {
  const call = `${method} ${url.split('?')[0]!.slice(0, 120)}`;
  return sendProblem(reply, 'not-found', {
    detail: REQUEST_PROBLEMS['not-found'].address(call),
    received: call,
  });
}
