import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import type { ProblemCode } from '../../../../server/core/problems.ts';
import { parseGltf, readContainer } from '../../../../server/gltf/document/container.ts';
import { patchUint32, TRIANGLE_BIN, triangleGlb, triangleJson } from '../../../support/bad-models.ts';
import { makeGlb } from '../../../support/glb.ts';
import { expectRefusal } from '../../../support/refusal.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';

// glTF 2.0, Specification.adoc (KhronosGroup/glTF 77b44be), GLB File Format Specification: 12-byte header (magic
// 0x46546C67, version 2, whole length), then chunks of length, type, data; JSON 0x4E4F534A first, BIN 0x004E4942 second.

const folder = await mkdtemp(join(tmpdir(), 'dyeworks-container-'));
afterAll(() => rm(folder, { recursive: true, force: true }));
let files = 0;

async function open(bytes: Uint8Array) {
  const path = join(folder, `${files++}.glb`);
  await writeFile(path, bytes);
  return readContainer(path);
}

const whole = triangleGlb();
const jsonLength = whole.readUInt32LE(12);

describe('a GLB', () => {
  it('is read as far as its chunks', async () => {
    const container = await open(whole);
    expect(container.json).toEqual(triangleJson());
    expect(container.bin).toEqual({ offset: 20 + jsonLength + 8, length: 36 });
    expect(container.fileBytes).toBe(whole.length);
  });

  it('may have no BIN chunk, and further chunks nobody knows', async () => {
    expect((await open(makeGlb({ asset: { version: '2.0' } }))).bin).toBeNull();
    const extra = Buffer.from([4, 0, 0, 0, 0x58, 0x58, 0x58, 0x58, 1, 2, 3, 4]);
    const longer = patchUint32(Buffer.concat([whole, extra]), 8, whole.length + extra.length);
    expect((await open(longer)).bin?.length).toBe(36);
  });

  it('is read without its padding', async () => {
    const { bin } = await open(makeGlb(triangleJson({ buffers: [{ byteLength: 37 }] }), Buffer.alloc(37)));
    expect(bin!.length).toBe(37);
  });

  it.each<[string, Uint8Array, ...ProblemCode[]]>([
    ['nothing', new Uint8Array(), 'model-truncated'],
    ['four bytes', whole.subarray(0, 4), 'model-truncated'],
    ['a header and nothing else', patchUint32(whole.subarray(0, 12), 8, 12), 'model-truncated'],
    ['a PNG', Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0, 0, 0]), 'model-unreadable'],
    ['JSON text', Buffer.from(JSON.stringify(triangleJson())), 'model-unreadable'],
    ['container version 1', patchUint32(whole, 4, 1), 'model-version'],
    ['container version 3', patchUint32(whole, 4, 3), 'model-version'],
    ['a file cut in its BIN chunk', whole.subarray(0, whole.length - 8), 'model-truncated'],
    ['a file cut in its JSON chunk', whole.subarray(0, 60), 'model-truncated'],
    ['a length that lies upwards', patchUint32(whole, 8, whole.length + 4), 'model-truncated'],
    ['a length that lies downwards', patchUint32(whole, 8, whole.length - 4), 'model-unreadable', 'model-truncated'],
    ['the largest length there is', patchUint32(whole, 8, 0xffffffff), 'model-truncated'],
    ['a JSON chunk longer than the file', patchUint32(whole, 12, whole.length), 'model-truncated'],
    ['a JSON chunk of the largest length', patchUint32(whole, 12, 0xffffffff), 'model-truncated', 'model-unreadable'],
    ['a JSON chunk that ends early', patchUint32(whole, 12, jsonLength - 8), 'model-json', 'model-truncated'],
    ['a BIN chunk longer than the file', patchUint32(whole, 20 + jsonLength, 4000), 'model-truncated'],
    ['a first chunk that is no JSON', patchUint32(whole, 16, 0x004e4942), 'model-unreadable'],
    [
      'a buffer longer than its chunk',
      makeGlb(triangleJson({ buffers: [{ byteLength: 400 }] }), TRIANGLE_BIN),
      'model-truncated',
    ],
    ['JSON that is a list', makeGlb('[]'), 'model-json'],
    ['JSON that is null', makeGlb('null'), 'model-json'],
    ['JSON that is a number', makeGlb('42'), 'model-json'],
    ['JSON that is no JSON', makeGlb('{"asset":'), 'model-json'],
    ['no JSON at all', makeGlb('    '), 'model-json'],
    ['no asset', makeGlb('{}'), 'model-version'],
    ['an asset that is null', makeGlb('{"asset":null}'), 'model-version'],
    ['glTF 1.0', makeGlb({ asset: { version: '1.0' } }), 'model-version'],
    ['a version that is a number', makeGlb({ asset: { version: 2 } }), 'model-version'],
    ['a minimum version of the future', makeGlb({ asset: { version: '2.0', minVersion: '2.1' } }), 'model-version'],
  ])('is refused: %s', async (_, bytes, ...codes) => {
    const problem = await expectRefusal(() => open(bytes), ...codes);
    expect(problem.message).toMatch(/\.$/);
  });

  it('is refused wherever a real one is cut', async () => {
    const model = readRegistryModel('generic-hand/left.glb');
    for (let part = 0; part < 40; part++) {
      const cut = model.subarray(0, Math.floor((model.length * part) / 40));
      await expectRefusal(() => open(cut), 'model-truncated');
    }
  });

  it('is refused when its JSON has more members than the limit, counted before they are made', () => {
    const json = (members: number) =>
      Buffer.from(`{"asset":{"version":"2.0"},"extras":[${Array(members).fill('"a,[{"').join(',')}]}`);
    expect(() => parseGltf(json(50), 60)).not.toThrow();
    expect(() => parseGltf(json(80), 60)).toThrow(expect.objectContaining({ code: 'model-too-complex' }));
  });
});
