import { afterAll, beforeAll, expect, it } from 'vitest';
import { addTwoPositions, putLineOfFinishes } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// What a delivery weighs. Model: @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
const base = '/api/products/TOUCH';
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  const [shell, trim] = await addTwoPositions(service);
  const row = (code: string, on: string) => ({ code, name: code, choices: { [shell!]: on, [trim!]: 'OAK-1' } });
  const variants = [row('A', 'TARN.3'), row('B', 'COAL_4')];
  expect((await service.call('PUT', `${base}/schedule`, { default: 'A', variants })).status).toBe(200);
  expect((await service.call('POST', `${base}/deliveries`, {})).status).toBe(201);
});
afterAll(() => service.close());

const sum = (numbers: readonly number[]) => numbers.reduce((all, one) => all + one, 0);

it('tells the weight of a delivery by geometry, part textures, article and finish', async () => {
  const { status, body } = await service.call('GET', `${base}/deliveries/1/weight`);
  const { body: delivery } = await service.call('GET', `${base}/deliveries/1`);
  expect([status, body.delivery, body.bytes]).toEqual([200, 1, delivery.bytes]);
  expect(sum(Object.values(body.groups))).toBe(delivery.bytes);
  expect(body.finishes.map(({ finish }: { finish: string }) => finish).sort()).toEqual(['COAL_4', 'OAK-1', 'TARN.3']);
  // plain finishes add a material and no image
  for (const { adds } of body.finishes) expect(adds).toBeGreaterThan(50);
  expect(body.groups.geometry).toBeGreaterThan(0);
  expect((await service.call('GET', `${base}/deliveries/2/weight`)).status).toBe(404);
});
