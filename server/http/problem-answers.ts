import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { PROBLEMS, Problem, type ProblemCode, type ProblemDetail, type ProblemKind } from '../core/problems.ts';
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
};

/** Seconds that a caller is asked to wait when a queue is full. */
const RETRY_AFTER_S = 5;
/** Sends a problem as `application/problem+json` (RFC 9457). Its cause stays in the log. */
function sendProblem(reply: FastifyReply, code: ProblemCode, more: ProblemDetail): FastifyReply {
  const { kind, title } = PROBLEMS[code];
  const { cause: _, ...rest } = more;
  const body: ProblemAnswer = { type: `urn:dyeworks:problem:${code}`, title, status: STATUS[kind], code, ...rest };
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
    detail:
      'Dyeworks has an internal error; the call is not at fault. Nothing was stored in part. Try again. If it happens again, report it with the log.',
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
          detail:
            'This URL does not accept the media type of the body. GET /api/openapi.json lists the types it accepts.',
        },
      ];
    case 'FST_ERR_CTP_BODY_TOO_LARGE':
      return ['body-too-large', { detail: 'The body is too large. Send less at once.' }];
    case 'FST_ERR_CTP_EMPTY_JSON_BODY':
    case 'FST_ERR_CTP_INVALID_JSON_BODY':
      return ['bad-request', { detail: 'The body is not valid JSON. Correct it and send it again.' }];
    default: {
      const status = error.statusCode ?? 500;
      return status >= 400 && status < 500
        ? ['bad-request', { detail: `The call cannot be read: ${error.message.slice(0, 200)}` }]
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
        detail: `The field “${params.additionalProperty}” does not exist here. Remove it or correct its name. Nothing was stored.`,
        received: params.additionalProperty,
        where: `${where}/${params.additionalProperty}`,
      },
    ];
  }
  if (first!.keyword === 'required') {
    return [
      'invalid-field',
      {
        detail: `The field “${params.missingProperty}” is missing in ${where}. Add it.`,
        expected: params.missingProperty,
        where,
      },
    ];
  }
  const { message = 'is not valid' } = first!;
  return ['invalid-field', { detail: `${where} ${message}.`, expected: params.allowedValues ?? params, where }];
}

export function answerNotFound(method: string, url: string, reply: FastifyReply): FastifyReply {
  const call = `${method} ${url.split('?')[0]!.slice(0, 120)}`;
  return sendProblem(reply, 'not-found', {
    detail: `${call} does not exist. GET /docs lists all calls.`,
    received: call,
  });
}
