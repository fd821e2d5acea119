import { afterAll, beforeAll, expect, it } from 'vitest';
import { listMissing, planPreview } from '../../../../web/pages/product/view/plan-preview.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';
import { startService, type TestService } from '../../../support/start-service.ts';

// A product whose slot has more options than one file of the live view: the others come when they are asked for.

const OPTIONS = 401;
const codes = Array.from({ length: OPTIONS }, (_, at) => `F${at}`);
let service: TestService;
let slot: string;

beforeAll(async () => {
  service = await startService();
  for (const [at, code] of codes.entries()) {
    const hex = `#${(0x202020 + at * 0x123).toString(16)}`;
    await service.call('PUT', `/api/finishes/${code}`, { name: `Paint ${at}`, family: 'paint', colour: { hex } });
  }
  const range = codes.map((finish) => ({ finish }));
  await service.call('PUT', '/api/lines/L', { name: 'Wide', range });
  await service.call('POST', '/api/products', { code: 'GO', name: 'Go', line: 'L' });
  const type = { 'content-type': 'model/gltf-binary' };
  await service.call('PUT', '/api/products/GO/model', readRegistryModel('oculus-go/none.glb'), type);
  const { slots } = (await service.call('GET', '/api/products/GO/slots')).body;
  expect(slots[0].allowed).toHaveLength(OPTIONS);
  slot = slots[0].slot;
  const variants = [{ code: 'V', name: 'V', choices: { [slot]: 'F3' } }];
  expect((await service.call('PUT', '/api/products/GO/schedule', { default: 'V', variants })).status).toBe(200);
});
afterAll(() => service.close());

const look = async (query = '') => (await service.call('GET', `/api/products/GO/look${query}`)).body;
const materialOf = (answer: { parts: never[] }, finish: string) =>
  planPreview(answer, { [slot]: finish }).find((_, at) => (answer.parts[at]! as { slot: string }).slot === slot)
    ?.material;

it('the file has the finishes of the schedule, and those that are asked for', async () => {
  const plain = await look();
  expect(materialOf(plain, 'F3')).toBeTypeOf('number');
  expect(materialOf(plain, 'F200')).toBeNull();
  const asked = await look(`?choice=${slot}:f200&choice=${slot}:F201&choice=${slot}:GONE&choice=none:F1`);
  for (const finish of ['F3', 'F200', 'F201']) expect(materialOf(asked, finish)).toBeTypeOf('number');
  expect(materialOf(asked, 'F202')).toBeNull();
  expect(asked.file).not.toBe(plain.file);
  const file = await service.call('GET', asked.file);
  expect(new TextDecoder().decode(file.body.slice(0, 4))).toBe('glTF');
});

it('the view asks for a finish that its file lacks, with those beside it, and for no other', async () => {
  const plain = await look();
  const options = () => codes;
  expect(listMissing(plain, [{ [slot]: 'F3' }], options)).toEqual([]);
  const missing = listMissing(plain, [{ [slot]: 'F3' }, { [slot]: 'F200' }], options);
  expect(missing).toHaveLength(41);
  const asked = await look(`?${new URLSearchParams(missing.map((choice) => ['choice', choice]))}`);
  expect(listMissing(asked, [{ [slot]: 'F200' }, { [slot]: 'F220' }, { [slot]: 'F180' }], options)).toEqual([]);
  expect(listMissing(asked, [{ [slot]: 'F221' }], options)[0]).toBe(`${slot}:F221`);
});
