import { afterAll, beforeAll, expect, it } from 'vitest';
import { addProduct, GLB, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Calls that overlap with other calls. Model: @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
});
afterAll(() => service.close());

const model = readRegistryModel('oculus-go/none.glb');

it('two simultaneous changes of a slot are both kept', async () => {
  const [slot] = await addProduct(service, 'BOTH', model);
  const path = `/api/products/BOTH/slots/${slot}`;
  await Promise.all([
    service.call('PATCH', path, { label: 'Shell' }),
    service.call('PATCH', path, { grainDegrees: 90 }),
    service.call('PATCH', path, { keep: { normal: false } }),
    service.call('PUT', '/api/products/BOTH/model', model, GLB),
  ]);
  const { slots } = (await service.call('GET', '/api/products/BOTH/slots')).body;
  expect(slots[0]).toMatchObject({ label: 'Shell', grainDegrees: 90, keep: { normal: false, occlusion: true } });
});

it('two simultaneous uploads on a prepared product leave the revisions of one', async () => {
  await addProduct(service, 'TWICE', model);
  const repairs = [{ repair: 'scale', factor: 0.5 }];
  expect((await service.call('POST', '/api/products/TWICE/repairs', { repairs })).status).toBe(201);
  const upload = () => service.call('PUT', '/api/products/TWICE/model', model, GLB);
  const answers = await Promise.all([upload(), upload(), upload()]);
  const stored = answers.filter(({ status }) => status === 201).length;
  for (const { status, body } of answers) if (status !== 201) expect([status, body.code]).toEqual([412, 'stale-model']);
  expect(stored).toBeGreaterThan(0);
  const { revisions } = (await service.call('GET', '/api/products/TWICE/revisions')).body;
  // each upload is a received revision and a prepared one
  expect(revisions).toHaveLength(2 + 2 * stored);
});

it('two simultaneous changes of a product are both kept', async () => {
  await addProduct(service, 'PAIR', model);
  const path = '/api/products/PAIR';
  await Promise.all([
    service.call('PATCH', path, { name: 'Pair' }),
    service.call('PATCH', path, { mount: 'wall' }),
    service.call('PATCH', path, { sheet: { widthMm: 1, depthMm: 2, heightMm: 3 } }),
  ]);
  expect((await service.call('GET', path)).body).toMatchObject({ name: 'Pair', mount: 'wall', sheet: { depthMm: 2 } });
});

it('a product deleted during an upload or a delivery is answered as unknown', async () => {
  await addProduct(service, 'GONE', model);
  await service.call('POST', '/api/products/GONE/schedule/expand', {});
  const answers = await Promise.all([
    service.call('PUT', '/api/products/GONE/model', model, GLB),
    service.call('POST', '/api/products/GONE/deliveries', {}),
    service.call('DELETE', '/api/products/GONE'),
  ]);
  for (const { status, body } of answers) {
    expect([201, 204, 404]).toContain(status);
    if (status === 404) expect(body.code).toBe('unknown-product');
  }
  expect((await service.call('GET', '/api/products/GONE')).status).toBe(404);
});

it('a later product of the same code does not reuse delivery numbers', async () => {
  await addProduct(service, 'AGAIN', model);
  await service.call('POST', '/api/products/AGAIN/schedule/expand', {});
  expect((await service.call('POST', '/api/products/AGAIN/deliveries', {})).body.delivery).toBe(1);
  await service.call('DELETE', '/api/products/AGAIN');
  await addProduct(service, 'AGAIN', model);
  await service.call('POST', '/api/products/AGAIN/schedule/expand', {});
  expect((await service.call('POST', '/api/products/AGAIN/deliveries', {})).body.delivery).toBe(2);
  expect((await service.call('GET', '/api/products/AGAIN/deliveries/1/model.glb')).body.code).toBe('unknown-delivery');
});

it('of simultaneous deliveries of the same, one is made and the others answer with it', async () => {
  await addProduct(service, 'MANY', model);
  await service.call('POST', '/api/products/MANY/schedule/expand', {});
  const made = await Promise.all(
    Array.from({ length: 4 }, () => service.call('POST', '/api/products/MANY/deliveries', {})),
  );
  expect(made.map(({ body }) => body.delivery)).toEqual([1, 1, 1, 1]);
  expect(made.map(({ status }) => status).sort()).toEqual([200, 200, 200, 201]);
  expect(new Set(made.map(({ body }) => body.sha256)).size).toBe(1);
});

it('simultaneous deliveries of different content get their own numbers', async () => {
  await addProduct(service, 'TWO', model);
  await service.call('POST', '/api/products/TWO/schedule/expand', {});
  const made = await Promise.all(
    ['name', 'code'].map((names) => service.call('POST', '/api/products/TWO/deliveries', { names })),
  );
  expect(made.map(({ body }) => body.delivery).sort()).toEqual([1, 2]);
});
