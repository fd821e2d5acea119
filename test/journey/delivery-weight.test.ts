import { createHash } from 'node:crypto';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { addTwoPositions, putLineOfFinishes } from '../support/job.ts';
import { waitForJob } from '../support/run-job.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { listValidatorErrors } from '../support/validate.ts';

// What a delivery weighs, and its compressed forms. Model: @webxr-input-profiles/assets 1.0.20 (MIT).

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

it('makes compressed forms once, in a job, and lists them with their loss', async () => {
  const asked = await service.call('POST', `${base}/deliveries`, { forms: ['meshopt', 'quantised-webp'] });
  expect([asked.status, asked.body.delivery, asked.body.unchanged]).toEqual([202, 1, true]);
  expect(asked.headers.get('location')).toBe(asked.body.job);
  const job = await waitForJob(service, asked.body.job.split('/').at(-1));
  expect(job).toMatchObject({ state: 'done', kind: 'delivery-forms', done: 2, failed: 0, request: { delivery: 1 } });
  const { body: delivery } = await service.call('GET', `${base}/deliveries/1`);
  const files = delivery.files.filter(({ form }: { form: string }) => form.startsWith('forms/'));
  expect(files.map(({ form }: { form: string }) => form)).toEqual(['forms/meshopt.glb', 'forms/quantised-webp.glb']);
  for (const { path, bytes, sha256, details } of files) {
    expect(bytes).toBeLessThan(delivery.bytes);
    expect(details.loss.geometry.positionMm).toBeLessThan(0.01);
    const answer = await fetch(`${service.url}${path}`);
    expect([answer.status, answer.headers.get('etag')]).toEqual([200, `"${sha256}"`]);
    const file = new Uint8Array(await answer.arrayBuffer());
    expect(createHash('sha256').update(file).digest('hex')).toBe(sha256);
    expect(await listValidatorErrors(file)).toEqual([]);
  }
  // what is there is not made again
  const again = await service.call('POST', `${base}/deliveries`, { forms: ['meshopt'] });
  expect([again.status, again.body.job]).toEqual([200, undefined]);
});

it('refuses forms that it does not know, and those that nobody asked for', async () => {
  expect((await service.call('POST', `${base}/deliveries`, { forms: ['smaller'] })).status).toBe(400);
  const missing = await service.call('GET', `${base}/deliveries/1/forms/draco.glb`);
  expect([missing.status, missing.body.code]).toEqual([404, 'unknown-form']);
});
