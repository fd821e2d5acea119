import { Validator } from '@seriousme/openapi-schema-validator';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { listRetiredWords } from '../../support/retired-words.ts';
import { startService, type TestService } from '../../support/start-service.ts';

// The served description is made from the routes; what outside programs rely on must be in it (OpenAPI 3.1, json-schema.org
// 2020-12 for the bodies).

let service: TestService;
beforeAll(async () => {
  service = await startService();
});
afterAll(() => service.close());

interface Operation {
  readonly responses: Record<string, { readonly description: string; readonly content?: object }>;
}

const RELIED_ON = [
  'get /health',
  'get /ready',
  'get /api/openapi.json',
  'get /api/lines',
  'get /api/lines/{line}',
  'put /api/lines/{line}',
  'get /api/lines/{line}/rules',
  'put /api/lines/{line}/rules',
  'post /api/lines/{line}/discontinue',
  'get /api/lines/{line}/colour-card.pdf',
  'get /api/products',
  'post /api/products',
  'get /api/products/{product}',
  'get /api/products/{product}/schedule.pdf',
  'get /api/products/{product}/picture.json',
  'get /api/products/{product}/catalogue.zip',
  'get /api/products/{product}/schedule/check-set.pdf',
  'patch /api/products/{product}',
  'delete /api/products/{product}',
  'put /api/products/{product}/model',
  'get /api/products/{product}/model.glb',
  'get /api/products/{product}/survey',
  'get /api/products/{product}/readiness',
  'get /api/products/{product}/slots',
  'patch /api/products/{product}/slots/{slot}',
  'get /api/finishes',
  'post /api/finishes/import',
  'get /api/finishes/import/example.csv',
  'put /api/finishes/{finish}',
  'get /api/finishes/{finish}',
  'delete /api/finishes/{finish}',
  'get /api/finishes/{finish}/revisions',
  'get /api/finishes/{finish}/revisions/{revision}',
  'get /api/articles/{article}/revisions',
  'get /api/articles/{article}/revisions/{revision}',
  'get /api/finishes/{finish}/where-used',
  'get /api/finishes/{finish}/swatch.png',
  'get /api/finishes/{finish}/swatch.json',
  'get /api/finishes/{finish}/swatch.webp',
  'get /api/finishes/{finish}/swatch.jpg',
  'get /api/products/{product}/schedule',
  'put /api/products/{product}/schedule',
  'post /api/products/{product}/schedule/expand',
  'get /api/products/{product}/schedule/count',
  'post /api/products/{product}/deliveries',
  'get /api/products/{product}/deliveries',
  'get /api/products/{product}/deliveries/{delivery}',
  'get /api/products/{product}/deliveries/pending',
  'get /api/products/{product}/deliveries/{delivery}/changes',
  'get /api/products/{product}/deliveries/{delivery}/model.glb',
  'get /api/products/{product}/deliveries/{delivery}/manifest.json',
  'get /api/products/{product}/deliveries/{delivery}/variants/{variant}.glb',
  'get /api/products/{product}/deliveries/{delivery}/parts/{part}.glb',
  'post /api/products/{product}/deliveries/{delivery}/split',
  'get /api/products/{product}/deliveries/{delivery}/samples.glb',
  'get /api/products/{product}/deliveries/{delivery}/weight',
  'get /api/products/{product}/deliveries/{delivery}/forms/{form}.glb',
  'get /api/products/{product}/deliveries/{delivery}/variants/{variant}.usdz',
  'get /api/products/{product}/deliveries/{delivery}/product.usdz',
  'get /api/products/{product}/deliveries/{delivery}/bundle.zip',
  'get /api/products/{product}/pictures/{file}',
  'get /api/products/{product}/picture.png',
  'post /api/products/{product}/pictures',
  'post /api/lines/{line}/pictures',
  'get /api/jobs',
  'get /api/jobs/{id}',
  'delete /api/jobs/{id}',
  'get /api/jobs/{id}/pictures',
  'get /api/jobs/{id}/events',
  'get /api/picture-sets',
  'get /api/picture-sets/{set}',
  'put /api/picture-sets/{set}',
  'delete /api/picture-sets/{set}',
  'get /api/products/{product}/picture-sets/{set}',
  'post /api/products/{product}/picture-sets/{set}',
  'get /api/products/{product}/picture-sets/{set}.zip',
  'get /api/products/{product}/picture-sets/{set}/files/{file}',
  'post /api/files',
  'get /api/files/{sha256}',
  'get /api/files/{sha256}/image',
] as const;

it('names every path that programs rely on, and each says what it is for', async () => {
  const { body, status } = await service.call('GET', '/api/openapi.json');
  expect(status).toBe(200);
  expect(body.openapi).toMatch(/^3\./);
  const served = Object.entries(body.paths as Record<string, Record<string, { summary?: string }>>).flatMap(
    ([path, methods]) =>
      Object.entries(methods).map(([method, operation]) => {
        expect(operation.summary, `${method} ${path}`).toBeTruthy();
        return `${method} ${path}`;
      }),
  );
  expect(served).toEqual(expect.arrayContaining([...RELIED_ON]));
});

it('is valid by the schema of OpenAPI 3.1', async () => {
  const { body } = await service.call('GET', '/api/openapi.json');
  const validator = new Validator();
  expect(await validator.validate(body)).toEqual({ valid: true });
  expect(validator.version).toBe('3.1');
});

it('describes every answer: media types, and a problem for what is refused', async () => {
  const { body } = await service.call('GET', '/api/openapi.json');
  for (const [path, methods] of Object.entries(body.paths as Record<string, Record<string, Operation>>)) {
    for (const [method, { responses }] of Object.entries(methods)) {
      const at = `${method} ${path}`;
      expect(responses.default?.content, at).toEqual({
        'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } },
      });
      expect(
        Object.keys(responses).filter((status) => /^2/.test(status)),
        at,
      ).not.toEqual([]);
      for (const { description } of Object.values(responses)) expect(description, at).not.toBe('Default Response');
    }
  }
});

it('is in plain English', async () => {
  const { body } = await service.call('GET', '/api/openapi.json');
  const texts: string[] = [];
  const visit = (value: unknown): void => {
    if (typeof value !== 'object' || value === null) return;
    for (const [key, child] of Object.entries(value)) {
      if ((key === 'description' || key === 'summary') && typeof child === 'string') texts.push(child);
      else visit(child);
    }
  };
  visit(body);
  expect(texts.length).toBeGreaterThan(200);
  const wrong = texts.flatMap((text) => listRetiredWords(text).map((word) => `${word} in “${text}”`));
  expect(wrong).toEqual([]);
});

it('describes bodies that take the named fields and no others', async () => {
  const { body } = await service.call('GET', '/api/openapi.json');
  const schema = body.paths['/api/products'].post.requestBody.content['application/json'].schema;
  expect(schema).toMatchObject({ type: 'object', required: ['code', 'name'], additionalProperties: false });
  expect(schema.properties.mount.enum).toEqual(['floor', 'table', 'wall', 'ceiling']);
});

it('describes what an import answers line by line', async () => {
  const { body } = await service.call('GET', '/api/openapi.json');
  const { responses } = body.paths['/api/finishes/import'].post;
  const { properties } = responses['200'].content['application/json'].schema;
  expect(Object.keys(properties.changed.items.properties)).toEqual(
    expect.arrayContaining(['line', 'finish', 'hex', 'deltaE', 'changes', 'estimated', 'findings']),
  );
});

it('is shown as a page', async () => {
  const { status, headers, body } = await service.call('GET', '/docs');
  expect(status).toBe(200);
  expect(headers.get('content-type')).toContain('text/html');
  expect(headers.get('content-security-policy')).toContain("default-src 'self'");
  expect(new TextDecoder().decode(body)).toContain('/api/products/{product}/schedule');
});

it('limits every text, list and record of a call', async () => {
  const { body } = await service.call('GET', '/api/openapi.json');
  const open: string[] = [];
  const visit = (schema: Schema, where: string): void => {
    if (schema.enum || 'const' in schema) return;
    const { additionalProperties: others, properties = {} } = schema;
    for (const one of schema.anyOf ?? schema.oneOf ?? []) visit(one, where);
    if (schema.type === 'string' && schema.maxLength === undefined && !isBounded(schema.pattern)) open.push(where);
    if (schema.type === 'array') {
      if (schema.maxItems === undefined) open.push(where);
      visit(schema.items ?? {}, `${where}[]`);
    }
    if (schema.type === 'object' && others !== false && !OPEN.test(where)) {
      if (!schema.propertyNames?.pattern || schema.maxProperties === undefined) open.push(where);
      visit(others ?? {}, `${where}.*`);
    }
    for (const [name, field] of Object.entries(properties)) visit(field, `${where}.${name}`);
  };
  for (const [path, methods] of Object.entries(body.paths as Record<string, Record<string, Call>>)) {
    for (const [method, { requestBody }] of Object.entries(methods)) {
      const schema = requestBody?.content['application/json']?.schema;
      if (schema) visit(schema, `${method} ${path}`);
    }
  }
  expect(open).toEqual([]);
});

/** The core reads the settings of repairs itself, with its own limits. */
const OPEN = /\/(repairs|preparation)\.(repairs|steps)\[\]$/;

/** Whether a pattern fits texts of limited length only. */
const isBounded = (pattern = '*') => pattern.startsWith('^') && pattern.endsWith('$') && !/[*+]/.test(pattern);

interface Schema {
  readonly type?: string;
  readonly enum?: unknown;
  readonly anyOf?: readonly Schema[];
  readonly oneOf?: readonly Schema[];
  readonly items?: Schema;
  readonly pattern?: string;
  readonly maxLength?: number;
  readonly maxItems?: number;
  readonly maxProperties?: number;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly propertyNames?: Schema;
  readonly additionalProperties?: Schema | false;
}

interface Call {
  readonly requestBody?: { readonly content: Readonly<Record<string, { readonly schema?: Schema }>> };
}
