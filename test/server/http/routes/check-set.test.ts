import { afterAll, beforeAll, expect, it } from 'vitest';
import { addTwoPositions, putLineOfFinishes } from '../../../support/job.ts';
import { startService, type TestService } from '../../../support/start-service.ts';

// The contract: POST …/schedule/check-set adds it; sizes by counting, two finishes on one slot and five on the other.
// Model: registry package @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
let shell: string;
let trim: string;
const base = '/api/products/TOUCH/schedule';

beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  [shell, trim] = await addTwoPositions(service);
});
afterAll(() => service.close());

const add = (kind?: string) => service.call('POST', `${base}/check-set`, kind ? { kind } : {});

it('says first what it would add, and adds nothing', async () => {
  const { status, body } = await service.call('POST', `${base}/check-set`, { preview: true });
  expect([status, body]).toEqual([
    200,
    { preview: true, added: 5, standing: 0, finishes: 7, impossible: 0, unsettled: 0, bound: 5 },
  ]);
  const pairs = await service.call('POST', `${base}/check-set`, { kind: 'pairs', preview: true });
  expect(pairs.body).toMatchObject({ added: 10, pairs: 10 });
  expect((await service.call('GET', base)).status).toBe(404);
});

it('shows each finish once unless said otherwise, and adds nothing where all is shown', async () => {
  const { status, body } = await add();
  expect(status).toBe(200);
  expect(body).toMatchObject({ added: 5, standing: 0, finishes: 7, impossible: 0, bound: 5 });
  expect(body.variants).toHaveLength(5);
  const shown = (slot: string) => new Set(body.variants.map(({ choices }: never) => choices[slot])).size;
  expect([shown(shell), shown(trim)]).toEqual([2, 5]);
  expect((await add()).body).toMatchObject({ added: 0, standing: 5 });
});

it('shows every two finishes that may meet together once, and none that a rule keeps apart', async () => {
  const rules = [{ when: { position: 'shell', finish: 'COAL_4' }, excludes: { position: 'trim', family: 'wood' } }];
  expect((await service.call('PUT', '/api/lines/FEN/rules', { rules })).status).toBe(200);
  const { count } = (await service.call('GET', `${base}/count`)).body;
  expect(count).toBeLessThan(10);
  const { body } = await add('pairs');
  expect(body).toMatchObject({ pairs: count, impossible: 10 - count });
  const { schedule, ...refused } = { schedule: body.variants, ...(await add('triples')).body };
  expect(refused.status).toBe(400);
  expect(new Set(schedule.map(({ choices }: never) => `${choices[shell]} ${choices[trim]}`)).size).toBe(
    schedule.length,
  );
  expect((await add('pairs')).body).toMatchObject({ added: 0, standing: count });
});
