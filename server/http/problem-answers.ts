import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { PROBLEMS, Problem, type ProblemCode, type ProblemDetail, type ProblemKind } from '../core/problems.ts';
import type { ProblemAnswer } from './answers.ts';

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

/** Seconds a caller is asked to wait when something is full. */
const RETRY_AFTER_S = 5;

/** Answers a problem as `application/problem+json` (RFC 9457); causes stay in the log. */
export function sendProblem(reply: FastifyReply, code: ProblemCode, more: ProblemDetail): FastifyReply {
  const { kind, title } = PROBLEMS[code];
  const { cause: _, ...rest } = more;
  const body: ProblemAnswer = { type: `urn:dyeworks:problem:${code}`, title, status: STATUS[kind], code, ...rest };
  if (kind === 'busy') reply.header('retry-after', RETRY_AFTER_S);
  if (kind === 'unauthorised') reply.header('www-authenticate', 'Bearer');
  return reply.status(STATUS[kind]).type('application/problem+json').send(JSON.stringify(body));
}

/** The one place where errors become answers. */
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
      'This is a fault of the program, not of the call. Nothing was half stored; the log says more. Try again, or report it.',
  });
}

/** Errors of the framework, each in our own words. */
function translate(error: FastifyError): [ProblemCode, ProblemDetail] | null {
  if (error.validation) return describeValidation(error);
  switch (error.code) {
    case 'FST_ERR_CTP_INVALID_MEDIA_TYPE':
      return [
        'media-type',
        { detail: 'The body is of a media type that is not taken here; see GET /api/openapi.json.' },
      ];
    case 'FST_ERR_CTP_BODY_TOO_LARGE':
      return ['body-too-large', { detail: 'The body is larger than is taken here. Send less at once.' }];
    case 'FST_ERR_CTP_EMPTY_JSON_BODY':
    case 'FST_ERR_CTP_INVALID_JSON_BODY':
      return ['bad-request', { detail: 'The body is not JSON that can be read.' }];
    default: {
      const status = error.statusCode ?? 500;
      return status >= 400 && status < 500
        ? ['bad-request', { detail: `The call could not be understood: ${error.message.slice(0, 200)}` }]
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
        detail: `“${params.additionalProperty}” is not known here. Leave it out, or correct its name; nothing was stored.`,
        received: params.additionalProperty,
        where: `${where}/${params.additionalProperty}`,
      },
    ];
  }
  if (first!.keyword === 'required') {
    return [
      'invalid-field',
      {
        detail: `“${params.missingProperty}” is missing in ${where}. Add it.`,
        expected: params.missingProperty,
        where,
      },
    ];
  }
  const { message = 'is not as it should be' } = first!;
  return ['invalid-field', { detail: `${where} ${message}.`, expected: params.allowedValues ?? params, where }];
}
