import { differenceCiede2000, parse } from 'culori';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { addTwoPositions, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A product knows why its last delivery is out of date, and delivers nothing twice. Model: @webxr-input-profiles/assets 1.0.20
// (MIT); colour difference: culori 4.0.2.

let service: TestService;
let shell = '';
let trim = '';
const base = '/api/products/TOUCH';
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  [shell, trim] = await addTwoPositions(service);
});
afterAll(() => service.close());

const get = async (path: string) => (await service.call('GET', `${base}/deliveries/${path}`)).body;
const deliver = (body: object = {}) => service.call('POST', `${base}/deliveries`, body);
const kinds = ({ changes }: { changes: { kind: string }[] }) => changes.map(({ kind }) => kind);
const row = (code: string, name: string, on: string, under: string) => ({
  code,
  name,
  choices: { [shell]: on, [trim]: under },
});
const schedule = (variants: object[]) => service.call('PUT', `${base}/schedule`, { default: 'A', variants });
const listRows = () => [row('A', 'Tarn', 'TARN.3', 'OAK-1'), row('B', 'Coal', 'COAL_4', 'OAK-1')];
const isListed = async () => (await service.call('GET', '/api/products?outdated=1')).body.products.length > 0;

it('has nothing pending without a delivery', async () => {
  expect(await get('pending')).toMatchObject({ since: null, outdated: false, variants: 0, changes: [] });
});

it('delivers once what did not change', async () => {
  expect((await schedule(listRows())).status).toBe(200);
  const first = await deliver();
  expect([first.status, first.body.delivery, first.body.unchanged]).toEqual([201, 1, false]);
  expect(await get('pending')).toMatchObject({ since: 1, names: 'name', outdated: false, changes: [], findings: [] });
  const again = await deliver();
  expect([again.status, again.body.delivery, again.body.unchanged]).toEqual([200, 1, true]);
  expect(again.body).toEqual({ ...first.body, unchanged: true });
  expect(again.headers.get('location')).toBe(`${base}/deliveries/1`);
  expect((await service.call('GET', `${base}/deliveries`)).body.deliveries).toHaveLength(1);
  // neither a label nor a tag is delivered
  await service.call('PATCH', `${base}/slots/${shell}`, { label: 'Housing' });
  const { name, family, hex } = FINISHES['OAK-1']!;
  await service.call('PUT', '/api/finishes/OAK-1', { name, family, colour: { hex }, tags: ['warm'] });
  expect((await get('pending')).outdated).toBe(false);
  expect((await deliver()).status).toBe(200);
});

it('says what a re-coloured finish changes, and in how many variants', async () => {
  const { name, family, hex } = FINISHES['OAK-1']!;
  await service.call('PUT', '/api/finishes/OAK-1', { name, family, colour: { hex: '#9c7a4e' } });
  const pending = await get('pending');
  expect(pending).toMatchObject({ since: 1, outdated: true, variants: 2 });
  expect(pending.changes).toHaveLength(1);
  expect(pending.changes[0]).toMatchObject({ kind: 'finish-recoloured', finish: 'OAK-1', variants: 2 });
  expect(pending.changes[0].deltaE).toBeCloseTo(differenceCiede2000()(parse(hex), parse('#9c7a4e')), 2);
  expect(pending.changes[0].message).toContain('“Oiled oak” has another colour in 2 variants');
  expect(await isListed()).toBe(true);
});

it('delivers the change, and tells it between the two deliveries for good', async () => {
  const second = await deliver();
  expect([second.status, second.body.delivery]).toEqual([201, 2]);
  expect(await get('pending')).toMatchObject({ since: 2, outdated: false });
  expect(await isListed()).toBe(false);
  // a later change of the finish does not alter what was between the two
  const { name, family, hex } = FINISHES['OAK-1']!;
  await service.call('PUT', '/api/finishes/OAK-1', { name, family, colour: { hex } });
  const between = await get('2/changes?since=1');
  expect(kinds(between)).toContain('finish-recoloured');
  expect(between.changes[0].deltaE).toBeCloseTo(differenceCiede2000()(parse(hex), parse('#9c7a4e')), 2);
  expect(await get('2/changes')).toEqual(between);
  expect(kinds(await get('1/changes?since=1'))).toEqual([]);
});

it('tells variants, names and findings that are new', async () => {
  const renamed = row('A', 'Lake', 'TARN.3', 'OAK-1');
  await schedule([renamed, row('C', 'Coal and tarn', 'COAL_4', 'TARN.3')]);
  const pending = await get('pending');
  const told = pending.changes.map(({ kind, variant, breaking }: Record<string, unknown>) => [kind, variant, breaking]);
  expect(told).toEqual([
    ['variant-withdrawn', 'B', true],
    ['variant-renamed', 'A', true],
    ['variant-added', 'C', undefined],
    ['finish-recoloured', undefined, undefined],
  ]);
  expect(pending.variants).toBe(3);
  // the wear of the trim does not allow the roughness of the new finish
  expect(pending.findings).toMatchObject([{ code: 'out-of-reach', expected: { finish: 'TARN.3' } }]);
  // a shell in wood is outside its options
  await schedule([renamed, row('C', 'Ash', 'ASH-2', 'TARN.3')]);
  const { findings } = await get('pending');
  expect(findings.map(({ code }: { code: string }) => code)).toContain('finish-not-in-options');
  expect((await deliver()).status).toBe(409);
  await schedule(listRows());
});

it('counts the names in the file as a change', async () => {
  const third = await deliver({ names: 'code' });
  expect([third.status, third.body.delivery]).toEqual([201, 3]);
  expect((await deliver({ names: 'code' })).status).toBe(200);
  // the next delivery is compared as the last one was made, unless asked otherwise
  expect(await get('pending')).toMatchObject({ names: 'code', outdated: false });
  expect(kinds(await get('pending?names=name'))).toEqual(['names-changed']);
  expect(kinds(await get('3/changes?since=2'))).toEqual(['names-changed', 'finish-recoloured', 'weight-changed']);
});

it('refuses deliveries that do not exist, and numbers that are none', async () => {
  for (const path of ['9/changes?since=1', '1/changes?since=9', '1/changes']) {
    const answer = await service.call('GET', `${base}/deliveries/${path}`);
    expect([answer.status, answer.body.code]).toEqual([404, 'unknown-delivery']);
  }
  expect((await service.call('GET', `${base}/deliveries/1/changes?since=x`)).status).toBe(400);
  expect((await service.call('GET', `${base}/deliveries/pending?names=x`)).status).toBe(400);
  expect((await service.call('GET', '/api/products/NONE/deliveries/pending')).body.code).toBe('unknown-product');
});
