import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { readGlb } from '../support/glb.ts';
import { addTwoPositions, putLineOfFinishes } from '../support/job.ts';
import { measureInThree } from '../support/measure-in-three.ts';
import { bindAll, findPrim, readPackage, readSurface, readUsda } from '../support/read-usd.ts';
import { readZip } from '../support/read-zip.ts';
import { startService, type TestService } from '../support/start-service.ts';

// The forms of a delivery in USD over HTTP. Sources as in test/server/gltf/usd/write-usd.test.ts; media type: RFC 6838 registration
// model/vnd.usdz+zip. Model: @webxr-input-profiles/assets 1.0.20 (MIT).

const BASE = '/api/products/TOUCH/deliveries/1';
let service: TestService;
let folder: string;
let slots: readonly [string, string];
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-usd-'));
  service = await startService({}, join(folder, 'data'));
  await putLineOfFinishes(service);
  slots = await addTwoPositions(service);
  const row = (code: string, on: string, trim: string) => ({
    code,
    name: `“${code}” }`,
    choices: { [slots[0]]: on, [slots[1]]: trim },
  });
  const variants = [row('A.1', 'TARN.3', 'OAK-1'), row('B', 'COAL_4', 'brass-5')];
  const put = await service.call('PUT', '/api/products/TOUCH/schedule', { default: 'A.1', variants });
  expect(put.status).toBe(200);
  expect((await service.call('POST', '/api/products/TOUCH/deliveries', {})).status).toBe(201);
});
afterAll(async () => {
  await service.close();
  rmSync(folder, { recursive: true, force: true });
});

async function download(path: string) {
  const answer = await fetch(`${service.url}${path}`);
  expect(answer.status, path).toBe(200);
  return { answer, bytes: Buffer.from(await answer.arrayBuffer()) };
}

it('gives each variant as USDZ under its digest, with the size and the colours of its GLB', async () => {
  for (const code of ['A.1', 'B']) {
    const { answer, bytes } = await download(`${BASE}/variants/${code}.usdz`);
    expect(answer.headers.get('content-type')).toBe('model/vnd.usdz+zip');
    expect(answer.headers.get('etag')).toBe(`"${createHash('sha256').update(bytes).digest('hex')}"`);
    expect(answer.headers.get('content-disposition')).toContain(`TOUCH-1-${code}.usdz`);
    const layer = readUsda(readPackage(bytes)[0]!.bytes.toString());
    const glb = (await download(`${BASE}/variants/${code}.glb`)).bytes;
    const { json } = readGlb(glb);
    const delivered = json.materials!.map(({ pbrMetallicRoughness: pbr = {} }) => pbr);
    const surfaces = [...findPrim(layer, '/Product/Materials').children.keys()].map((name) =>
      readSurface(layer, `/Product/Materials/${name}`),
    );
    for (const { diffuseColor, roughness, metallic } of surfaces.filter((surface) =>
      Array.isArray(surface.diffuseColor),
    )) {
      const same = delivered.find(({ baseColorFactor = [1, 1, 1], roughnessFactor = 1, metallicFactor = 1 }) => {
        const values = [...baseColorFactor.slice(0, 3), roughnessFactor, metallicFactor];
        const read = [...(diffuseColor as number[]), roughness, metallic].map(Number);
        // a factor beside a map is in the map
        return values.every((value, at) => Number.isNaN(read[at]!) || Math.abs(value - read[at]!) < 1e-6);
      });
      expect(same, JSON.stringify([diffuseColor, roughness, metallic])).toBeDefined();
    }
    const measured = await measureInThree(glb);
    const low = [Infinity, Infinity, Infinity];
    const high = [-Infinity, -Infinity, -Infinity];
    for (const { properties } of findPrim(layer, '/Product/Geometry').children.values()) {
      const [min, max] = properties.get('extent') as [number[], number[]];
      for (const axis of [0, 1, 2]) {
        low[axis] = Math.min(low[axis]!, min[axis]!);
        high[axis] = Math.max(high[axis]!, max[axis]!);
      }
    }
    expect(low[1]).toBeCloseTo(0, 6);
    for (const axis of [0, 1, 2])
      expect(high[axis]! - low[axis]!).toBeCloseTo(measured.max[axis]! - measured.min[axis]!, 5);
  }
});

it('gives all variants as one file whose slots switch by themselves', async () => {
  const { bytes } = await download(`${BASE}/product.usdz`);
  const layer = readUsda(readPackage(bytes)[0]!.bytes.toString());
  const { body } = await service.call('GET', BASE);
  const { sets } = body.files.find(({ form }: { form: string }) => form === 'product.usdz').details;
  expect(sets.map(({ slot }: { slot?: string }) => slot)).toEqual([undefined, ...slots]);
  const [rows, shell, trim] = sets.map(({ set }: { set: string }) => set);
  const first = bindAll(layer);
  expect(bindAll(layer, { [rows]: 'A_1' })).toEqual(first);
  const second = bindAll(layer, { [rows]: 'B' });
  expect(bindAll(layer, { [shell]: sets[1].variants.COAL_4, [trim]: sets[2].variants['brass-5'] })).toEqual(second);
  expect(second).not.toEqual(first);
});

it('makes each file once, lists it with what it loses, and sends ranges of it', async () => {
  const [one, other] = [await download(`${BASE}/variants/B.usdz`), await download(`${BASE}/variants/b.usdz`)];
  expect(other.bytes.equals(one.bytes)).toBe(true);
  const { body } = await service.call('GET', BASE);
  const listed = body.files.filter(({ form }: { form: string }) => form.endsWith('.usdz'));
  expect(listed.map(({ form }: { form: string }) => form).sort()).toEqual([
    'product.usdz',
    'variants/A.1.usdz',
    'variants/B.usdz',
  ]);
  const file = listed.find(({ form }: { form: string }) => form === 'variants/B.usdz');
  expect([file.bytes, file.mediaType, file.details.mount]).toEqual([one.bytes.length, 'model/vnd.usdz+zip', 'floor']);
  for (const { code, message } of file.details.losses)
    expect([code, message.length > 10]).toEqual([expect.any(String), true]);
  const range = await fetch(`${service.url}${file.path}`, { headers: { range: 'bytes=0-3' } });
  expect([range.status, Buffer.from(await range.arrayBuffer()).toString('latin1')]).toEqual([206, 'PK\u0003\u0004']);
  const same = await fetch(`${service.url}${file.path}`, { headers: { 'if-none-match': `"${file.sha256}"` } });
  expect(same.status).toBe(304);
});

it('puts files in USD into a bundle, and makes those that are missing', async () => {
  expect((await service.call('POST', '/api/products/TOUCH/deliveries', { names: 'code' })).status).toBe(201);
  const { bytes } = await download('/api/products/TOUCH/deliveries/2/bundle.zip?forms=usdz,usd');
  const names = [...(await readZip(bytes)).keys()].sort();
  expect(names).toEqual(
    ['manifest.json', 'product.usdz', 'variants/A.1.usdz', 'variants/B.usdz'].map((name) => `TOUCH-2/${name}`),
  );
});

it('refuses variants that the delivery does not have, and leaves no temporary file', async () => {
  for (const [path, code] of [
    [`${BASE}/variants/C.usdz`, 'unknown-variant'],
    ['/api/products/TOUCH/deliveries/9/product.usdz', 'unknown-delivery'],
  ]) {
    const { status, body } = await service.call('GET', path!);
    expect([status, body.code]).toEqual([404, code]);
  }
  const temporary = join(folder, 'data');
  const left = readdirSync(temporary, { recursive: true }).filter((name) => /\.partial|tmp/.test(String(name)));
  expect(left.filter((name) => !/\.(db|sqlite)/.test(String(name)))).toEqual([]);
});
