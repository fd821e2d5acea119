import { afterAll, beforeAll, expect, it } from 'vitest';
import { addProduct, GLB, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';

// The list of products says at any time what each product says of itself, and comes page by page. Model:
// @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
let slot = '';
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  slot = (await addProduct(service, 'CHAIR', model))[0]!;
  await service.call('POST', '/api/products', { code: 'LOOSE', name: 'Without a line' });
  await service.call('PUT', '/api/products/LOOSE/model', model, GLB);
});
afterAll(() => service.close());

const model = readRegistryModel('oculus-go/none.glb');
const row = (code: string, finish: string) => ({ code, name: code, choices: { [slot]: finish } });
const schedule = (...variants: ReturnType<typeof row>[]) => ({ default: variants[0]!.code, variants });
const finish = (family: string) => ({ name: 'Oiled oak', family, colour: { hex: '#b08a5b' } });

const CHANGES: [title: string, method: string, path: string, body: () => unknown][] = [
  ['a first schedule', 'PUT', '/api/products/CHAIR/schedule', () => schedule(row('A', 'OAK-1'))],
  ['more variants', 'PUT', '/api/products/CHAIR/schedule', () => schedule(row('B', 'ASH-2'), row('A', 'OAK-1'))],
  ['a slot with other options', 'PATCH', `/api/products/CHAIR/slots/SLOT`, () => ({ options: { families: ['wood'] } })],
  ['a finish of another family', 'PUT', '/api/finishes/OAK-1', () => finish('paint')],
  ['the family it had', 'PUT', '/api/finishes/OAK-1', () => finish('wood')],
  ['a line without the finish', 'PUT', '/api/lines/FEN', () => ({ name: 'Fenwater', range: [{ finish: 'ASH-2' }] })],
  ['a delivery', 'POST', '/api/products/LOOSE/deliveries', () => ({})],
  [
    'another name and sheet',
    'PATCH',
    '/api/products/CHAIR',
    () => ({ name: 'Seat', sheet: { widthMm: 9, depthMm: 9, heightMm: 9 } }),
  ],
  ['a budget of its own', 'PUT', '/api/budgets/kiosk', () => budget(100_000_000)],
  ['a product under that budget', 'PATCH', '/api/products/LOOSE', () => ({ budget: 'kiosk' })],
  ['a budget that the model exceeds', 'PUT', '/api/budgets/kiosk', () => budget(1)],
  ['the budget it had', 'DELETE', '/api/budgets/kiosk', () => undefined],
  ['another model', 'PUT', '/api/products/LOOSE/model', () => readRegistryModel('oculus-touch/left.glb')],
  ['a product that moves into the line', 'PATCH', '/api/products/LOOSE', () => ({ line: 'FEN' })],
  ['a finish that is gone', 'DELETE', '/api/finishes/brass-5', () => undefined],
  ['a product that is gone', 'DELETE', '/api/products/LOOSE', () => undefined],
];

function budget(most: number) {
  const limit = { recommended: most, maximum: most };
  return { label: 'Small', fileBytes: limit, triangles: limit, draws: limit, texturePx: 256 };
}

it.each(CHANGES)('is right after %s', async (_, method, path, body) => {
  await service.call('GET', '/api/products');
  const given = body();
  const answer = await service.call(
    method,
    path.replace('SLOT', slot),
    given,
    given instanceof Uint8Array ? GLB : undefined,
  );
  expect([answer.status, answer.body?.code]).toEqual([
    expect.toSatisfy((status: number) => status < 300 || status === 409),
    answer.body?.code,
  ]);
  const { products } = (await service.call('GET', '/api/products')).body;
  const each = products.map(
    async ({ code }: { code: string }) => (await service.call('GET', `/api/products/${code}`)).body,
  );
  expect(products).toEqual(await Promise.all(each));
  expect(products.length).toBeGreaterThan(0);
});

it('comes in pages, in the order in which products were added, also when one is deleted in between', async () => {
  for (let number = 0; number < 5; number++) {
    await service.call('POST', '/api/products', { code: `P${number}`, name: `Product ${number}` });
  }
  const first = (await service.call('GET', '/api/products?limit=3')).body;
  expect(first.products.map(({ code }: { code: string }) => code)).toEqual(['CHAIR', 'P0', 'P1']);
  await service.call('DELETE', '/api/products/P1');
  const second = (await service.call('GET', `/api/products?limit=3&after=${first.next}`)).body;
  expect(second.products.map(({ code }: { code: string }) => code)).toEqual(['P2', 'P3', 'P4']);
  expect(second.next).toBeUndefined();
  expect((await service.call('GET', '/api/products')).body.products).toHaveLength(5);
  expect((await service.call('GET', '/api/products?limit=0')).status).toBe(400);
});
