import type { IncomingHttpHeaders } from 'node:http';
import { Ajv, type ErrorObject, type ValidateFunction } from 'ajv';
import type { FastifyInstance, FastifySchemaCompiler } from 'fastify';
import { type Author, checkAuthor } from '../core/history/history.ts';
import { ABSENT } from '../core/precondition.ts';
import { Problem } from '../core/problems.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';
import { readJsonBodies } from './json-body.ts';
import { compileBodyCheck } from './validate-bodies.ts';

// How requests are read: bodies, the check against their schemas, and the headers that Dyeworks defines or needs.

/** Media types of models; their bodies are read as streams. */
export const MODEL_TYPES = ['model/gltf-binary', 'model/gltf+json', 'application/zip'] as const;

/** Sets up how bodies are read and how requests are checked against their schemas. */
export function parseRequests(app: FastifyInstance): void {
  checkStrictly(app);
  readJsonBodies(app);
  readBodies(app);
}

/** Unknown fields are refused, never dropped. Only values in URLs and headers are converted from text. */
function checkStrictly(app: FastifyInstance): void {
  const settings = { removeAdditional: false, useDefaults: false, allErrors: false, allowUnionTypes: true } as const;
  const body = new Ajv({ ...settings, coerceTypes: false });
  const urlAndHeaders = new Ajv({ ...settings, coerceTypes: 'array' });
  app.setValidatorCompiler(({ schema, httpPart }) =>
    httpPart === 'body'
      ? (compileBodyCheck(body, schema as object) as ReturnType<FastifySchemaCompiler<object>>)
      : refuseInfinite(urlAndHeaders.compile(schema as object)),
  );
  // fastify's own serialiser would silently drop fields that a response schema does not declare; tests find those instead
  app.setSerializerCompiler(() => (value) => JSON.stringify(value));
}

/** A text such as 1e999 becomes infinite when it is converted, and Ajv does not check infinite numbers against limits. */
function refuseInfinite(check: ValidateFunction): ReturnType<FastifySchemaCompiler<object>> {
  const strict = (values: unknown): boolean => {
    const passed = check(values) as boolean;
    strict.errors = check.errors;
    const found = Object.entries(values ?? {}).find(([, value]) => [value].flat().some(isInfinite));
    if (!passed || !found) return passed;
    const [field] = found;
    strict.errors = [
      {
        instancePath: `/${field}`,
        schemaPath: `#/properties/${field}/type`,
        keyword: 'type',
        params: { type: 'number' },
        message: 'must be number',
      },
    ];
    return false;
  };
  strict.errors = null as ErrorObject[] | null | undefined;
  return strict as ReturnType<FastifySchemaCompiler<object>>;
}

const isInfinite = (value: unknown) => typeof value === 'number' && !Number.isFinite(value);

/** Models are read as streams and images as bytes. A JSON body may be missing if all its fields are optional. */
function readBodies(app: FastifyInstance): void {
  for (const type of MODEL_TYPES) app.addContentTypeParser(type, (_request, payload, done) => done(null, payload));
  app.addContentTypeParser(/^(image\/|application\/octet-stream)/, { parseAs: 'buffer' }, (_request, bytes, done) =>
    done(null, bytes),
  );
  app.removeContentTypeParser('text/plain');
  app.addHook('preValidation', async (request) => {
    const { body } = request.routeOptions.schema ?? {};
    if (body === undefined) return;
    if (request.body === undefined || request.body === null) request.body = {};
    else if (typeof (request.body as { pipe?: unknown }).pipe === 'function' || Buffer.isBuffer(request.body)) {
      throw new Problem('media-type', {
        detail: REQUEST_PROBLEMS['media-type'].json,
        expected: 'application/json',
        received: request.headers['content-type'],
      });
    }
  });
}

/** Headers for the history of a change. */
export const PERSON = 'dyeworks-person';
const NOTE = 'dyeworks-note';

/**
 * Who makes the call, as they state it. HTTP headers carry Latin letters only, so the text is percent-encoded UTF-8, as
 * `encodeURIComponent` writes it. Plain ASCII without a percent sign needs no encoding.
 * @throws Problem `invalid-field`, `invalid-name`, `name-too-long`
 */
export function readAuthor(headers: IncomingHttpHeaders): Author {
  return checkAuthor(decode(headers, PERSON), decode(headers, NOTE), { person: PERSON, note: NOTE });
}

function decode(headers: IncomingHttpHeaders, name: string): string | null {
  const value = headers[name];
  if (value === undefined) return null;
  const text = String(value);
  try {
    if (/^[\x20-\x7e]*$/.test(text)) return decodeURIComponent(text);
  } catch {
    // not a valid encoding: refused below
  }
  throw new Problem('invalid-field', {
    detail: REQUEST_PROBLEMS['invalid-field'].author(name),
    expected: 'percent-encoded UTF-8',
    received: text.slice(0, 80),
    where: name,
  });
}

/**
 * What the caller of a change expects to be stored: the ETags in If-Match, or nothing by `If-None-Match: *`. See
 * `requireExpected`; null if the caller accepts overwriting the changes of others.
 * @throws Problem `invalid-field` for another If-None-Match, which would be ignored
 */
export function readPrecondition({ headers }: { readonly headers: IncomingHttpHeaders }): string | null {
  const match = headers['if-match'];
  if (match !== undefined) return match.split(',').map(readTag).join();
  const none = headers['if-none-match'];
  if (none === undefined) return null;
  if (none.trim() === '*') return ABSENT;
  throw new Problem('invalid-field', {
    detail: REQUEST_PROBLEMS['invalid-field'].ifNoneMatch,
    expected: '*',
    received: none.slice(0, 80),
    where: 'if-none-match',
  });
}

/** An intermediary that compresses answers makes tags weak. */
const readTag = (text: string) => text.trim().replace(/^W\//, '').replace(/^"|"$/g, '');
