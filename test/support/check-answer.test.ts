import { afterAll, beforeAll, expect, it } from 'vitest';
import { type ApiDocument, type CheckAnswer, type GivenAnswer, makeAnswerCheck } from './check-answer.ts';
import { startService, type TestService } from './start-service.ts';

// Every journey checks every answer. These tests show that the check finds wrong answers.

let service: TestService;
let document: ApiDocument;
let check: CheckAnswer;
let line: GivenAnswer;
beforeAll(async () => {
  service = await startService();
  document = (await service.call('GET', '/api/openapi.json')).body;
  check = makeAnswerCheck(document);
  const { status, body } = await service.call('PUT', '/api/lines/FEN', {
    name: 'Fenwater',
    positions: [{ position: 'seat', label: 'Seat', options: { families: ['wood'] } }],
  });
  line = { method: 'PUT', path: '/api/lines/FEN', status, mediaType: 'application/json', body };
});
afterAll(() => service.close());

it('accepts a real answer', () => {
  expect(check(line)).toBeNull();
  expect(check({ ...line, method: 'GET', status: 200 })).toBeNull();
});

it.each<[string, (body: Record<string, unknown>) => unknown, RegExp]>([
  ['an undeclared field', (body) => ({ ...body, colour: 'red' }), /additional properties \(“colour”\)/],
  ['an undeclared field deep down', (body) => ({ ...body, positions: [{ position: 'a', label: 'A', x: 1 }] }), /“x”/],
  ['a missing field', ({ name: _, ...body }) => body, /must have required property 'name'/],
  ['a field of another type', (body) => ({ ...body, name: 7 }), /\/name must be string/],
  ['null, which JSON has for NaN', (body) => ({ ...body, name: null }), /\/name must be string/],
  ['a value out of a list', (body) => ({ ...body, range: [{ finish: 'A', status: 'gone' }] }), /allowed values/],
  ['a rule of no kind', (body) => ({ ...body, rules: [{ when: { position: 'seat' } }] }), /\/rules\/0/],
  ['a list in the place of an object', (body) => [body], /must be object/],
])('finds %s', (_, change, expected) => {
  expect(check({ ...line, body: change(line.body as Record<string, unknown>) })).toMatch(expected);
});

it.each<[string, Partial<GivenAnswer>, RegExp]>([
  ['a status that is not described', { status: 202 }, /does not describe this status/],
  ['another media type', { mediaType: 'text/html', body: null }, /describes application\/json/],
  ['JSON of a call that is not described', { path: '/api/other', status: 200 }, /does not describe this status/],
  ['content where there should be none', { method: 'DELETE', status: 204 }, /describes no content/],
  [
    'a problem without a code',
    { status: 404, mediaType: 'application/problem+json', body: { type: 'a:b', title: 'A', status: 404, detail: 'A' } },
    /required property 'code'/,
  ],
  [
    'an event of another shape',
    { method: 'GET', path: '/api/jobs/1/events', status: 200, mediaType: 'text/event-stream', body: { id: '1' } },
    /required property/,
  ],
])('finds %s', (_, change, expected) => {
  expect(check({ ...line, ...change })).toMatch(expected);
});

it('runs with every call of a journey', async () => {
  await expect(service.checkAnswer({ ...line, body: {} })).rejects.toThrow(/required property/);
});

it('finds every object closed, so that no undeclared field passes', () => {
  const open: string[] = [];
  const visit = (value: unknown, at: string): void => {
    if (typeof value !== 'object' || value === null) return;
    const { type, properties, patternProperties, additionalProperties } = value as Record<string, unknown>;
    const isObject = type === 'object' || (typeof properties === 'object' && type === undefined);
    const closed = additionalProperties !== undefined || patternProperties !== undefined;
    if (isObject && !closed) open.push(at);
    for (const [key, child] of Object.entries(value)) visit(child, `${at}/${key}`);
  };
  visit(document.components.schemas, '');
  for (const [path, operations] of Object.entries(document.paths)) {
    for (const [method, { responses }] of Object.entries(operations)) visit(responses, `${method} ${path}`);
  }
  expect(open).toEqual([]);
});
