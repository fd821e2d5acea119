import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { PROBLEMS, Problem, type ProblemCode, type ProblemDetail, type ProblemKind } from '../core/problems.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';
import type { ProblemAnswer } from './contracts/service.ts';

const STATUS: Readonly<Record<ProblemKind, number>> = {
  invalid: 400,
  unauthorised: 401,
  forbidden: 403,
  missing: 404,
  conflict: 409,
  stale: 412,
  'too-large': 413,
  'media-type': 415,
  unprocessable: 422,
  failed: 500,
  busy: 503,
  'no-space': 507,
  unavailable: 503,
};

/** Seconds that a caller is asked to wait when a queue is full. */
const RETRY_AFTER_S = 5;

/** Sends a problem as `application/problem+json` (RFC 9457). Its cause stays in the log. */
function sendProblem(reply: FastifyReply, code: ProblemCode, more: ProblemDetail): FastifyReply {
  const { kind, title } = PROBLEMS[code];
  const { cause: _, ...rest } = more;
  const body: ProblemAnswer = { type: `urn:dyeworks:problem:${code}`, title, status: STATUS[kind], code, ...rest };
  // what is missing, busy or refused now may be there for the next caller
  reply.header('cache-control', 'no-store');
  if (kind === 'busy') reply.header('retry-after', RETRY_AFTER_S);
  if (kind === 'unauthorised') reply.header('www-authenticate', 'Bearer');
  return reply.status(STATUS[kind]).type('application/problem+json').send(JSON.stringify(body));
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
  const known = translate(error as FastifyError);
  if (known) return sendProblem(reply, known[0], known[1]);
  request.log.error({ err: error }, 'a call failed');
  return sendProblem(reply, 'internal', {
    detail: REQUEST_PROBLEMS.internal,
  });
}

/** Puts errors of the framework into our own words. */
function translate(error: FastifyError): [ProblemCode, ProblemDetail] | null {
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
      return ['body-too-large', { detail: REQUEST_PROBLEMS['body-too-large'].body }];
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
