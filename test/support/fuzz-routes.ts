import { PROBLEMS } from '../../server/core/problems.ts';
import { damage, mutate, write } from './mutate-json.ts';
import { createRandom } from './random.ts';
import type { TestService } from './start-service.ts';

// Calls of every route of the OpenAPI document, with valid bodies that were changed in one to three places, odd parameters and
// odd headers. Nothing that arrives may be a fault of the program.

type Random = ReturnType<typeof createRandom>;
type Json = unknown;

interface Schema {
  readonly $ref?: string;
  readonly type?: string | readonly string[];
  readonly enum?: readonly Json[];
  readonly const?: Json;
  readonly anyOf?: readonly Schema[];
  readonly oneOf?: readonly Schema[];
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly additionalProperties?: Schema | boolean;
  readonly required?: readonly string[];
  readonly items?: Schema;
  readonly minItems?: number;
  readonly minimum?: number;
  readonly maximum?: number;
  readonly pattern?: string;
}

interface Operation {
  readonly method: string;
  readonly path: string;
  readonly query: readonly { readonly name: string; readonly schema: Schema }[];
  /** Null without a JSON body. */
  readonly body: Schema | null;
  /** Whether it takes bytes of another media type. */
  readonly bytes: boolean;
}

export interface FuzzOptions {
  readonly seed: number;
  /** Calls of each route. */
  readonly count: number;
  /** Codes, keys and digests that exist, by the name of a parameter or field. */
  readonly known?: Readonly<Record<string, readonly string[]>>;
  /** Bodies that the service accepts, by `PUT /api/lines/{line}`. Others are made from the schemas. */
  readonly bodies?: Readonly<Record<string, readonly object[]>>;
  /** Routes to leave out, by the beginning of `GET /api/…`. */
  readonly skip?: readonly string[];
}

export interface FuzzReport {
  readonly routes: number;
  readonly calls: number;
  readonly byStatus: Readonly<Record<number, number>>;
  /** Answers that must not be, each with what was sent. */
  readonly faults: readonly string[];
}

/** A call that takes longer hangs. A busy machine takes a minute for the longest. */
const HANG_MS = 170_000;

/** Creating a first person would lock the run out. */
const SKIPPED = ['POST /api/people'];

/** The same seed, count and service give the same calls. */
export async function fuzzRoutes(
  service: TestService,
  { seed, count, known = {}, bodies = {}, skip = SKIPPED }: FuzzOptions,
): Promise<FuzzReport> {
  const { body: document } = await service.call('GET', '/api/openapi.json');
  const operations = listOperations(document).filter(
    ({ method, path }) => !skip.some((start) => `${method} ${path}`.startsWith(start)),
  );
  const schemas = document.components.schemas as Record<string, Schema>;
  const random = createRandom(seed);
  const byStatus: Record<number, number> = {};
  const faults: string[] = [];
  let calls = 0;
  for (let round = 0; round < count; round++) {
    for (const operation of operations) {
      const call = makeCall(operation, { random, schemas, known, bodies });
      calls++;
      const fault = await makeOne(service, operation.method, call, byStatus);
      if (fault) faults.push(`${operation.method} ${call.path} ${call.shown}: ${fault}`);
    }
  }
  return { routes: operations.length, calls, byStatus, faults };
}

interface Call {
  readonly path: string;
  readonly body: Uint8Array | undefined;
  readonly headers: Readonly<Record<string, string>>;
  /** For a report. */
  readonly shown: string;
}

async function makeOne(
  service: TestService,
  method: string,
  { path, body, headers }: Call,
  byStatus: Record<number, number>,
): Promise<string | null> {
  let response: Response;
  let text: string;
  try {
    response = await fetch(service.url + path, {
      method,
      body: body as Uint8Array<ArrayBuffer> | undefined,
      headers,
      redirect: 'manual',
      signal: AbortSignal.timeout(HANG_MS),
    });
    text = await response.text();
  } catch (error) {
    return `no answer: ${String(error)}`;
  }
  const { status } = response;
  byStatus[status] = (byStatus[status] ?? 0) + 1;
  const mediaType = (response.headers.get('content-type') ?? '').split(';')[0]!.trim();
  if (status < 400) return null;
  if (mediaType !== 'application/problem+json') return `${status} ${mediaType}`;
  const problem = JSON.parse(text) as { readonly code?: string; readonly status?: number; readonly detail?: string };
  if (problem.code === undefined || !Object.hasOwn(PROBLEMS, problem.code)) return `${status} without a known code`;
  // a browser or a place in a queue may be missing; everything else from 500 on is a fault of the program
  if (status >= 500 && status !== 503) return `${status} ${problem.code}: ${problem.detail}`;
  return null;
}

// biome-ignore lint/suspicious/noExplicitAny: the document as it is served
function listOperations(document: any): Operation[] {
  return Object.entries(document.paths as Record<string, Record<string, never>>).flatMap(([path, methods]) =>
    // biome-ignore lint/suspicious/noExplicitAny: the document as it is served
    Object.entries(methods as Record<string, any>).map(([method, operation]): Operation => {
      const content = operation.requestBody?.content ?? {};
      return {
        method: method.toUpperCase(),
        path,
        query: (operation.parameters ?? []).filter((each: { in: string }) => each.in === 'query'),
        body: content['application/json']?.schema ?? null,
        bytes: method !== 'get' && method !== 'delete' && !content['application/json'],
      };
    }),
  );
}

interface Making {
  readonly random: Random;
  readonly schemas: Readonly<Record<string, Schema>>;
  readonly known: Readonly<Record<string, readonly string[]>>;
  readonly bodies: Readonly<Record<string, readonly object[]>>;
}

function makeCall({ method, path, query, body, bytes }: Operation, making: Making): Call {
  const { random, known, bodies } = making;
  const filled = path.replace(/\{([^}]+)\}/g, (_, name: string) => makeParameter(known[name] ?? [], random));
  const search = makeQuery(query, making);
  const headers: Record<string, string> = {};
  if (random.next() < 0.2) headers[random.pick(['if-match', 'if-none-match'])] = random.pick(ODD_TAGS);
  if (random.next() < 0.1) headers['dyeworks-person'] = random.pick(ODD_PEOPLE);
  const given = bodies[`${method} ${path}`];
  if (body) {
    const valid = given && random.next() < 0.8 ? structuredClone(random.pick(given)) : makeValue(body, making, 0);
    const text = write(random.next() < 0.1 ? valid : mutate(valid, random));
    const sent = random.next() < 0.03 ? damage(text, random) : text;
    headers['content-type'] = random.next() < 0.02 ? 'text/csv' : 'application/json';
    return { path: filled + search, body: new TextEncoder().encode(sent), headers, shown: sent.slice(0, 300) };
  }
  if (bytes) {
    headers['content-type'] = random.pick(BYTE_TYPES);
    const sent = new TextEncoder().encode(random.pick(BYTES));
    return { path: filled + search, body: sent, headers, shown: headers['content-type'] };
  }
  return { path: filled + search, body: undefined, headers, shown: JSON.stringify(headers) };
}

const ODD_TAGS = ['*', '"x"', 'W/"x"', '', '""', '"a", "b"', ',,,', `"${'x'.repeat(4000)}"`, '"ÿ"'];
const ODD_PEOPLE = ['%', '%00', '%ED%A0%80', encodeURIComponent('Åsa'), 'x'.repeat(3000), ' ', '%0D%0Aset-cookie:x'];
const BYTE_TYPES = [
  'model/gltf-binary',
  'model/gltf+json',
  'application/zip',
  'image/png',
  'text/csv',
  'application/xml',
];
const BYTES = [
  '',
  'glTF',
  '{}',
  '[]',
  'PK\u0003\u0004',
  '\u0000'.repeat(64),
  'code,name\n\u0000,x',
  '<a/>',
  '<!DOCTYPE a>',
];

const ODD_SEGMENTS = [
  '__proto__',
  'constructor',
  'toString',
  '%00',
  '%ED%A0%80',
  '..%2F..%2Fetc%2Fpasswd',
  '%2e%2e',
  '%F0%9F%AA%91',
  'a'.repeat(290),
  'a%0d%0ab',
  '-1',
  '0',
  '1e9',
  '99999999999999999999',
  'NaN',
  '%25',
  "'%20OR%201=1",
];

function makeParameter(known: readonly string[], random: Random): string {
  if (known.length > 0 && random.next() < 0.75) return encodeURIComponent(random.pick(known));
  return random.next() < 0.3 ? String(1 + random.whole(3)) : random.pick(ODD_SEGMENTS);
}

function makeQuery(query: Operation['query'], making: Making): string {
  const { random } = making;
  const parts = query.flatMap(({ name, schema }) => {
    if (random.next() < 0.6) return [];
    const value = random.next() < 0.5 ? makeValue(schema, making, 0) : random.pick(ODD_QUERY);
    const text = Array.isArray(value) ? value.join(',') : String(value);
    return [
      `${name}=${encodeURIComponent(text.replace(/[\ud800-\udfff]/g, '?'))}`,
      ...(random.next() < 0.1 ? [`${name}=again`] : []),
    ];
  });
  if (random.next() < 0.1)
    parts.push(random.pick(['unknown=1', '__proto__=1', 'constructor[prototype]=1', '=', '%', 'a[]=1']));
  return parts.length > 0 ? `?${parts.join('&')}` : '';
}

const ODD_QUERY = [
  '',
  '0',
  '-1',
  '1e999',
  'NaN',
  'x'.repeat(2000),
  '\u0000',
  '[]',
  '{}',
  'null',
  'seat:',
  ':',
  '#',
  '%',
];

/** A value that a schema allows, as far as this knows. */
function makeValue(schema: Schema, making: Making, depth: number, field = ''): Json {
  const { random, schemas, known } = making;
  if (schema.$ref) return makeValue(schemas[schema.$ref.split('/').at(-1)!] ?? {}, making, depth + 1, field);
  if (schema.const !== undefined) return schema.const;
  if (schema.enum) return random.pick(schema.enum);
  const any = schema.anyOf ?? schema.oneOf;
  if (any) return makeValue(random.pick(any), making, depth + 1, field);
  switch (Array.isArray(schema.type) ? random.pick(schema.type as string[]) : schema.type) {
    case 'object': {
      const required = new Set(schema.required ?? []);
      const made = Object.entries(schema.properties ?? {}).flatMap(([name, each]) =>
        required.has(name) || (depth < 6 && random.next() < 0.4)
          ? [[name, makeValue(each, making, depth + 1, name)]]
          : [],
      );
      const values = schema.additionalProperties;
      if (typeof values === 'object')
        made.push([random.pick(['seat', 'de', 'shell']), makeValue(values, making, depth + 1)]);
      return Object.fromEntries(made);
    }
    case 'array':
      return Array.from({ length: (schema.minItems ?? 0) + random.whole(3) }, () =>
        makeValue(schema.items ?? {}, making, depth + 1, field),
      );
    case 'string':
      if (known[field]) return random.pick(known[field]);
      if (schema.pattern?.includes('#')) return '#a1b2c3';
      return random.pick(['A', 'seat', 'Name', 'de', 'D65', '2deg']);
    case 'integer':
    case 'number':
      return Math.max(schema.minimum ?? 0, Math.min(schema.maximum ?? 100, random.whole(100)));
    case 'boolean':
      return random.next() < 0.5;
    default:
      return null;
  }
}
