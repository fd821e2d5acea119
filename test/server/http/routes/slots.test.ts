import { afterAll, beforeAll, expect, it } from 'vitest';
import { addProduct, putLineOfFinishes } from '../../../support/job.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';
import { startService, type TestService } from '../../../support/start-service.ts';

// The contract: PATCH …/slots/{s} `{keep?, …}`; unknown fields and values are refused (400). Model: registry package
// @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
let path: string;

beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  const [slot] = await addProduct(service, 'GO', readRegistryModel('oculus-go/none.glb'));
  path = `/api/products/GO/slots/${slot}`;
});
afterAll(() => service.close());

const normalOf = async () => (await service.call('GET', '/api/products/GO/slots')).body.slots[0].keep.normal;

it('a slot says whose normal map is shown by yes, no or a word, and answers as it was told', async () => {
  expect(await normalOf()).toBe(true);
  for (const normal of ['both-or-finish', 'part', 'finish', false, 'both-or-part', true]) {
    const { status, body } = await service.call('PATCH', path, { keep: { normal } });
    expect(status).toBe(200);
    expect(body.keep).toMatchObject({ normal, occlusion: true, wear: true });
    expect(await normalOf()).toBe(normal);
  }
});

it('and follows the part again when what was said of it is taken back', async () => {
  await service.call('PATCH', path, { keep: { normal: 'both-or-finish' }, grainDegrees: 0 });
  expect((await service.call('GET', '/api/products/GO/slots')).body.slots[0]).toMatchObject({
    normalFrom: 'person',
    directions: null,
  });
  const { status, body } = await service.call('PATCH', path, { keep: { normal: null }, grainDegrees: null });
  expect(status).toBe(200);
  expect(body).toMatchObject({ normalFrom: 'model', grainDegrees: 0 });
  expect(body.directions).not.toBeNull();
});

it.each(['both', 'true', '', 1])('and is not told %j', async (normal) => {
  expect((await service.call('PATCH', path, { keep: { normal } })).status).toBe(400);
});

it('and the document of the API says so', async () => {
  const { body } = await service.call('GET', '/api/openapi.json');
  const schema = JSON.stringify(body.paths['/api/products/{product}/slots/{slot}'].patch.requestBody);
  for (const word of ['both-or-part', 'both-or-finish']) expect(schema).toContain(word);
});
