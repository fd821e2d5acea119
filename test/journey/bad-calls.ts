import { zipSync } from 'fflate';
import { glbWithImage, patchUint32, pngHeader, triangleGlb, triangleGltf } from '../support/bad-models.ts';
import { makeNoisePng } from '../support/build-model.ts';
import { GLB } from '../support/job.ts';

/** Calls that are refused, each with its status and code. */

const JSON_TYPE = { 'content-type': 'application/json' };
const ZIP = { 'content-type': 'application/zip' };
const GLTF = { 'content-type': 'model/gltf+json' };
const PNG = { 'content-type': 'image/png' };
const SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="8" height="8"><script>1</script></svg>';
export const MIB = 1024 * 1024;
const text = (content: string) => new TextEncoder().encode(content);
const finish = (more: Record<string, unknown> = {}) => ({
  name: 'F',
  family: 'paint',
  colour: { hex: '#ffffff' },
  ...more,
});
export const row = (code: string, choices: Record<string, string> = {}) => ({ code, name: `Row ${code}`, choices });
export const schedule = (...variants: unknown[]) => ({ default: 'A', variants });

const triangle = triangleGlb();

export type Row = [
  title: string,
  method: string,
  path: string,
  body: unknown,
  headers: Record<string, string>,
  status: number,
  code: string,
];

export const MODEL = '/api/products/CHAIR/model';
export const SCHEDULE = '/api/products/CHAIR/schedule';

export const MODELS: Row[] = [
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

export const TRADE: Row[] = [
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

/** Functions, since the slot’s key is known only later. */
export const SCHEDULES: [
  title: string,
  body: (slot: string) => unknown,
  headers: Record<string, string>,
  status: number,
  code: string,
][] = [
  ['a finish that is not there', (slot) => schedule(row('A', { [slot]: 'TEAK' })), {}, 422, 'unknown-finish'],
  ['a slot that is not there', () => schedule(row('A', { arms: 'OAK-1' })), {}, 422, 'unknown-slot'],
  [
    'a stale tag',
    (slot) => schedule(row('A', { [slot]: 'ASH-2' })),
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
export const FILES: Row[] = [
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
