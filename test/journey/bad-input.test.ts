import { request } from 'node:http';
import { connect } from 'node:net';
import { zipSync } from 'fflate';
import { afterAll, afterEach, beforeAll, expect, it, vi } from 'vitest';
import { glbWithImage, patchUint32, pngHeader, triangleGlb, triangleGltf } from '../support/bad-models.ts';
import { makeNoisePng } from '../support/build-model.ts';
import { addProduct, GLB, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { type Answer, startService, type TestService } from '../support/start-service.ts';
import { listTemporary, readStoredState } from '../support/stored-state.ts';

// Bad input gets a clear problem answer with a code, and nothing is lost or half stored. Statuses and forms are those of
// the API's contract; the body's members those of RFC 9457 §3.1.

const JSON_TYPE = { 'content-type': 'application/json' };
const ZIP = { 'content-type': 'application/zip' };
const GLTF = { 'content-type': 'model/gltf+json' };
const PNG = { 'content-type': 'image/png' };
const SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="8" height="8"><script>1</script></svg>';
const MIB = 1024 * 1024;
const text = (content: string) => new TextEncoder().encode(content);
const finish = (more: Record<string, unknown> = {}) => ({
  name: 'F',
  family: 'paint',
  colour: { hex: '#ffffff' },
  ...more,
});
const row = (code: string, choices: Record<string, string> = {}) => ({ code, name: `Row ${code}`, choices });
const schedule = (...variants: unknown[]) => ({ default: 'A', variants });

const triangle = triangleGlb();
let service: TestService;
let slot = '';
let before: unknown;

beforeAll(async () => {
  service = await startService({ DYEWORKS_BODY_LIMIT_MIB: '1' });
  await putLineOfFinishes(service);
  const slots = await addProduct(service, 'CHAIR', readRegistryModel('meta-quest-touch-plus/left.glb'));
  slot = slots[0]!;
  await service.call('PUT', '/api/products/CHAIR/schedule', schedule(row('A', { [slot]: 'OAK-1' })));
  expect((await service.call('POST', '/api/products/CHAIR/deliveries', {})).status).toBe(201);
  expect((await service.call('POST', '/api/products', { code: 'EMPTY', name: 'No model yet' })).status).toBe(201);
  before = await readStoredState(service);
});
afterAll(() => service.close());

afterEach(async () => {
  expect(await readStoredState(service)).toEqual(before);
  expect(await listTemporary(service)).toEqual([]);
});

function expectProblem(answer: Answer, status: number, code: string): void {
  expect({ status: answer.status, code: answer.body.code, detail: answer.body.detail }).toEqual({
    status,
    code,
    detail: expect.stringMatching(/.{15}/),
  });
  expect(answer.headers.get('content-type')).toMatch(/^application\/problem\+json/);
  expect(answer.headers.get('x-content-type-options')).toBe('nosniff');
  expect(answer.body).toMatchObject({ status, title: expect.any(String), type: expect.any(String) });
  expect(JSON.stringify(answer.body)).not.toMatch(/node_modules|\.ts:\d|at Object\./);
}

type Row = [
  title: string,
  method: string,
  path: string,
  body: unknown,
  headers: Record<string, string>,
  status: number,
  code: string,
];

const MODEL = '/api/products/CHAIR/model';
const SCHEDULE = '/api/products/CHAIR/schedule';

const MODELS: Row[] = [
  ['not a GLB', 'PUT', MODEL, text('this is a chair, honestly'), GLB, 422, 'model-unreadable'],
  ['no bytes at all', 'PUT', MODEL, new Uint8Array(), GLB, 422, 'model-truncated'],
  ['a truncated GLB', 'PUT', MODEL, triangle.subarray(0, triangle.length - 5), GLB, 422, 'model-truncated'],
  ['a GLB whose length lies', 'PUT', MODEL, patchUint32(triangle, 8, 0xffffffff), GLB, 422, 'model-truncated'],
  ['JSON that is no object', 'PUT', MODEL, text('[]'), GLTF, 422, 'model-json'],
  [
    'an accessor out of range',
    'PUT',
    MODEL,
    triangleGlb({ bufferViews: [{ buffer: 0, byteLength: 24 }] }),
    GLB,
    422,
    'model-broken-reference',
  ],
  ['an image elsewhere', 'PUT', MODEL, triangleGlb({ images: [{ uri: 'oak.png' }] }), GLB, 422, 'model-outside-file'],
  ['an absurd image', 'PUT', MODEL, glbWithImage(pngHeader(60_000, 60_000)), GLB, 413, 'image-too-large'],
  ['a zip without a model', 'PUT', MODEL, zipSync({ 'a.txt': text('a') }), ZIP, 422, 'archive-no-model'],
  [
    'a zip with a file missing',
    'PUT',
    MODEL,
    zipSync({ 'a.gltf': text(triangleGltf('a.bin')) }),
    ZIP,
    422,
    'archive-missing-file',
  ],
  [
    'a zip that escapes',
    'PUT',
    MODEL,
    zipSync({ 'a.gltf': text(triangleGltf('../a.bin')), '../a.bin': text('a') }),
    ZIP,
    422,
    'archive-path',
  ],
  ['a zip that is a GLB', 'PUT', MODEL, triangle, ZIP, 422, 'archive-unreadable'],
  [
    'a model of another media type',
    'PUT',
    MODEL,
    triangle,
    { 'content-type': 'application/octet-stream' },
    415,
    'media-type',
  ],
  ['a model as JSON', 'PUT', MODEL, {}, {}, 415, 'media-type'],
  ['a model without a media type', 'PUT', MODEL, triangle, {}, 415, 'media-type'],
  ['a body over the limit', 'PUT', MODEL, new Uint8Array(MIB + 1), GLB, 413, 'body-too-large'],
  ['a model for no product', 'PUT', '/api/products/NOBODY/model', triangle, GLB, 404, 'unknown-product'],
];

const TRADE: Row[] = [
  ['an unknown field', 'POST', '/api/products', { code: 'P', name: 'P', colour: 'red' }, {}, 400, 'unknown-field'],
  [
    'an unknown field deep down',
    'POST',
    '/api/products',
    { code: 'P', name: 'P', sheet: { widthMm: 1, depthMm: 1, heightMm: 1, unit: 'mm' } },
    {},
    400,
    'unknown-field',
  ],
  ['an unknown field of a finish', 'PUT', '/api/finishes/NEW', finish({ price: 4 }), {}, 400, 'unknown-field'],
  [
    'an unknown field of a colour',
    'PUT',
    '/api/finishes/NEW',
    finish({ colour: { hex: '#ffffff', rgb: 1 } }),
    {},
    400,
    'unknown-field',
  ],
  ['an unknown field of a line', 'PUT', '/api/lines/NEW', { name: 'L', colour: 1 }, {}, 400, 'unknown-field'],
  ['an unknown field of a row', 'PUT', SCHEDULE, schedule({ ...row('A'), price: 1 }), {}, 400, 'unknown-field'],
  [
    'an unknown field of a delivery',
    'POST',
    '/api/products/CHAIR/deliveries',
    { speed: 'fast' },
    {},
    400,
    'unknown-field',
  ],
  ['a name of 121 characters', 'POST', '/api/products', { code: 'P', name: 'x'.repeat(121) }, {}, 400, 'name-too-long'],
  ['a line’s name of 121 characters', 'PUT', '/api/lines/NEW', { name: 'x'.repeat(121) }, {}, 400, 'name-too-long'],
  [
    'a finish’s name of 121 characters',
    'PUT',
    '/api/finishes/NEW',
    finish({ name: 'x'.repeat(121) }),
    {},
    400,
    'name-too-long',
  ],
  [
    'a translated name of 121 characters',
    'PUT',
    '/api/finishes/NEW',
    finish({ names: { de: 'x'.repeat(121) } }),
    {},
    400,
    'name-too-long',
  ],
  ['an empty name', 'POST', '/api/products', { code: 'P', name: ' ' }, {}, 400, 'invalid-name'],
  ['a name that is a number', 'POST', '/api/products', { code: 'P', name: 7 }, {}, 400, 'invalid-field'],
  ['no name', 'POST', '/api/products', { code: 'P' }, {}, 400, 'invalid-field'],
  ['a code that is taken', 'POST', '/api/products', { code: 'CHAIR', name: 'P' }, {}, 409, 'duplicate-code'],
  [
    'a code that is taken in another case',
    'POST',
    '/api/products',
    { code: 'chair', name: 'P' },
    {},
    409,
    'duplicate-code',
  ],
  ['a reserved code', 'POST', '/api/products', { code: 'Import', name: 'P' }, {}, 400, 'reserved-code'],
  ['a reserved code of a finish', 'PUT', '/api/finishes/indistinguishable', finish(), {}, 400, 'reserved-code'],
  ['a reserved code of a line', 'PUT', '/api/lines/current', { name: 'L' }, {}, 400, 'reserved-code'],
  ['a code with a blank', 'POST', '/api/products', { code: 'a b', name: 'P' }, {}, 400, 'invalid-code'],
  ['a code of 65 characters', 'PUT', `/api/finishes/${'x'.repeat(65)}`, finish(), {}, 400, 'invalid-code'],
  [
    'a class nobody knows',
    'POST',
    '/api/products',
    { code: 'P', name: 'P', class: 'throne' },
    {},
    400,
    'invalid-field',
  ],
  [
    'a width of less than nothing',
    'POST',
    '/api/products',
    { code: 'P', name: 'P', sheet: { widthMm: -1, depthMm: 1, heightMm: 1 } },
    {},
    400,
    'invalid-field',
  ],
  [
    'a line that is not there',
    'POST',
    '/api/products',
    { code: 'P', name: 'P', line: 'NONE' },
    {},
    422,
    'unknown-line',
  ],
  [
    'a range of a finish that is not there',
    'PUT',
    '/api/lines/NEW',
    { name: 'L', range: [{ finish: 'TEAK' }] },
    {},
    422,
    'unknown-finish',
  ],
  [
    'a range that names a finish twice',
    'PUT',
    '/api/lines/NEW',
    { name: 'L', range: [{ finish: 'OAK-1' }, { finish: 'oak-1' }] },
    {},
    409,
    'duplicate-code',
  ],
  ['a family nobody knows', 'PUT', '/api/finishes/NEW', finish({ family: 'velvet' }), {}, 400, 'invalid-field'],
  ['a roughness of 1.1', 'PUT', '/api/finishes/NEW', finish({ roughness: 1.1 }), {}, 400, 'invalid-field'],
  ['a roughness in quotes', 'PUT', '/api/finishes/NEW', finish({ roughness: '0.5' }), {}, 400, 'invalid-field'],
  [
    'Lab without its illuminant',
    'PUT',
    '/api/finishes/NEW',
    finish({ colour: { lab: [50, 0, 0] } }),
    {},
    422,
    'colour-incomplete',
  ],
  [
    'a map that was not uploaded',
    'PUT',
    '/api/finishes/NEW',
    finish({ maps: { colour: 'a'.repeat(64) } }),
    {},
    422,
    'unknown-map',
  ],
  ['an article that is not there', 'PUT', '/api/finishes/NEW', finish({ article: 'NONE' }), {}, 422, 'unknown-article'],
  ['a finish in use, deleted', 'DELETE', '/api/finishes/oak-1', undefined, {}, 409, 'finish-in-use'],
  ['a finish that is not there, deleted', 'DELETE', '/api/finishes/TEAK', undefined, {}, 404, 'unknown-finish-code'],
  ['a line in use, deleted', 'DELETE', '/api/lines/FEN', undefined, {}, 409, 'line-in-use'],
  ['a slot that is not there', 'PATCH', '/api/products/CHAIR/slots/arms', { fixed: true }, {}, 404, 'unknown-slot-key'],
  ['an expansion over its limit', 'POST', `${SCHEDULE}/expand`, { limit: 2 }, {}, 422, 'too-many-variants'],
  ['an expansion of no slot', 'POST', `${SCHEDULE}/expand`, { slots: ['arms'] }, {}, 422, 'unknown-slot'],
  ['an expansion without a model', 'POST', '/api/products/EMPTY/schedule/expand', {}, {}, 422, 'nothing-to-expand'],
  ['a delivery without a model', 'POST', '/api/products/EMPTY/deliveries', {}, {}, 409, 'no-model'],
  [
    'a delivery that is not there',
    'GET',
    '/api/products/CHAIR/deliveries/9/model.glb',
    undefined,
    {},
    404,
    'unknown-delivery',
  ],
  ['a product that is not there', 'GET', '/api/products/NOBODY', undefined, {}, 404, 'unknown-product'],
  ['an address that is not there', 'GET', '/api/nothing', undefined, {}, 404, 'not-found'],
  ['JSON that is none', 'POST', '/api/products', '{"code":', JSON_TYPE, 400, 'bad-request'],
  [
    'JSON that reaches for a prototype',
    'POST',
    '/api/products',
    '{"code":"P","name":"P","__proto__":{"line":"FEN"}}',
    JSON_TYPE,
    400,
    'bad-request',
  ],
  ['JSON that is a list', 'POST', '/api/products', '[]', JSON_TYPE, 400, 'invalid-field'],
  [
    'a product as text',
    'POST',
    '/api/products',
    '{"code":"P","name":"P"}',
    { 'content-type': 'text/plain' },
    415,
    'media-type',
  ],
  [
    'a product as a form',
    'POST',
    '/api/products',
    'code=P&name=P',
    { 'content-type': 'application/x-www-form-urlencoded' },
    415,
    'media-type',
  ],
  ['a product as an image', 'POST', '/api/products', text('x'), PNG, 415, 'media-type'],
];

const SCHEDULES: [title: string, body: () => unknown, headers: Record<string, string>, status: number, code: string][] =
  [
    ['a finish that is not there', () => schedule(row('A', { [slot]: 'TEAK' })), {}, 422, 'unknown-finish'],
    ['a slot that is not there', () => schedule(row('A', { arms: 'OAK-1' })), {}, 422, 'unknown-slot'],
    [
      'a stale tag',
      () => schedule(row('A', { [slot]: 'ASH-2' })),
      { 'if-match': '"of-another-day"' },
      412,
      'stale-schedule',
    ],
    [
      'two codes that differ in case',
      () => schedule(row('A'), { ...row('a'), name: 'Other' }),
      {},
      409,
      'duplicate-code',
    ],
    [
      'two names that differ in case',
      () => schedule(row('A'), { ...row('B'), name: 'ROW a' }),
      {},
      422,
      'duplicate-name',
    ],
    ['a default that is not there', () => ({ default: 'Z', variants: [row('A')] }), {}, 422, 'unknown-default'],
    ['no rows', () => schedule(), {}, 400, 'invalid-field'],
    ['a reserved code', () => schedule(row('current')), {}, 400, 'reserved-code'],
  ];

const image = await makeNoisePng(1, 32);
const FILES: Row[] = [
  ['an SVG', 'POST', '/api/files', text(SVG), { 'content-type': 'image/svg+xml' }, 415, 'image-type'],
  ['an SVG that says it is a PNG', 'POST', '/api/files', text(SVG), PNG, 415, 'image-type'],
  [
    'a GIF',
    'POST',
    '/api/files',
    text('GIF89a\u0001\u0000\u0001\u0000'),
    { 'content-type': 'image/gif' },
    415,
    'image-type',
  ],
  ['no bytes', 'POST', '/api/files', new Uint8Array(), PNG, 415, 'image-type'],
  ['half a PNG', 'POST', '/api/files', image.subarray(0, image.length / 2), PNG, 422, 'image-unreadable'],
  ['a PNG of 60,000 × 60,000', 'POST', '/api/files', pngHeader(60_000, 60_000), PNG, 413, 'image-too-large'],
  ['JSON', 'POST', '/api/files', {}, {}, 415, 'media-type'],
];

it.each([...MODELS, ...TRADE, ...FILES])('%s', async (_, method, path, body, headers, status, code) => {
  expectProblem(await service.call(method, path, body, headers), status, code);
});

it.each(SCHEDULES)('a schedule with %s', async (_, body, headers, status, code) => {
  expectProblem(await service.call('PUT', SCHEDULE, body(), headers), status, code);
});

it('an expansion over its limit says how many there would be', async () => {
  const { body } = await service.call('POST', `${SCHEDULE}/expand`, { limit: 2 });
  expect(body).toMatchObject({ expected: 2, received: 5 });
});

it('a body over the limit that does not say its length, after which the connection is still good or closed', async () => {
  const answers = await talk([
    `PUT ${MODEL} HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-type: model/gltf-binary\r\ntransfer-encoding: chunked\r\n\r\n`,
    ...Array.from({ length: 20 }, () => `186a0\r\n${'x'.repeat(100_000)}\r\n`),
    '0\r\n\r\n',
    'GET /health HTTP/1.1\r\nhost: 127.0.0.1\r\nconnection: close\r\n\r\n',
  ]);
  expect(answers).toMatch(/^HTTP\/1\.1 413 /);
  expect(answers).toContain('"code":"body-too-large"');
  // RFC 9112 §9.3 and §9.6: what follows on a connection that is kept is answered, or the connection was said to close
  const said = /\r\nconnection: close\r\n/i.test(answers.slice(0, answers.indexOf('\r\n\r\n') + 2));
  expect(said || answers.includes('HTTP/1.1 200 ')).toBe(true);
});

it('a body just under the limit is read, and refused for what it is', async () => {
  expectProblem(await service.call('PUT', MODEL, new Uint8Array(MIB - 1), GLB), 422, 'model-unreadable');
});

it('an upload that breaks off', async () => {
  await new Promise<void>((resolve) => {
    const call = request(`${service.url}${MODEL}`, { method: 'PUT', headers: { ...GLB, 'content-length': '500000' } });
    call.on('error', () => resolve());
    call.on('close', () => resolve());
    call.write(triangle, () => call.destroy());
  });
  await vi.waitFor(async () => expect(await listTemporary(service)).toEqual([]), { timeout: 20_000, interval: 20 });
});

it('an address with broken per cent signs', async () => {
  const answer = await service.call('GET', '/api/finishes/%E0%A4%A');
  expect(answer.status).toBe(400);
  expect(answer.headers.get('content-type')).toMatch(/^application\/problem\+json/);
});

/** Says something over one connection and hears what is answered until it is closed, or nothing comes any more. */
function talk(parts: readonly string[]): Promise<string> {
  return new Promise((resolve) => {
    let heard = '';
    const socket = connect(Number(new URL(service.url).port), '127.0.0.1');
    // a limit against hanging, no measure
    socket.setTimeout(8000, () => socket.destroy());
    socket.setEncoding('utf8');
    socket.on('data', (data) => {
      heard += data;
    });
    socket.on('error', () => undefined);
    socket.on('close', () => resolve(heard));
    for (const part of parts) socket.write(part);
  });
}
