import { afterAll, beforeAll, expect, it } from 'vitest';
import { triangleGlb } from '../support/bad-models.ts';
import { GLB } from '../support/job.ts';
import { mutateModel } from '../support/mutate-model.ts';
import { makeRichModels } from '../support/odd-models.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { goWholeWay, putTriedFinishes } from '../support/whole-way.ts';

// A fault in a file is never a fault of the service. Models with one or a few changed values in their JSON or bytes are
// refused with a code, or go through to a delivery. Whatever they contain, the list of products still works (contract:
// bad input gets a clear error with a code; a 5xx is never right). The mutations are the same in every run.

/** A limit against hanging, ms: a few hundred calls. */
const LONG = 600_000;

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await putTriedFinishes(service);
});
afterAll(() => service.close());

it(
  'a small model, mutated',
  async () => {
    await tryMutations('T', triangleGlb(), 7, 40);
  },
  LONG,
);

it(
  'a model with one of everything, mutated: plain, Draco and meshopt',
  async () => {
    const { plain, draco, meshopt } = await makeRichModels();
    await tryMutations('P', plain!, 11, 50);
    await tryMutations('D', draco!, 13, 20);
    await tryMutations('M', meshopt!, 17, 20);
  },
  LONG,
);

async function tryMutations(name: string, model: Uint8Array, start: number, count: number): Promise<void> {
  const faults: string[] = [];
  const ends = { refused: 0, delivered: 0 };
  let n = 0;
  for (const { what, glb } of mutateModel(model, start, count)) {
    const { steps, faults: own } = await goWholeWay(service, `${name}${n++}`, glb, GLB['content-type'], {
      picture: false,
    });
    faults.push(...own.map((fault) => `${what}: ${fault}`));
    if (steps.some(({ step, status }) => step === 'deliver' && status === 201)) ends.delivered++;
    if (steps.some(({ step, code }) => step === 'upload' && code !== null)) ends.refused++;
  }
  expect(faults).toEqual([]);
  // otherwise the test would prove nothing
  expect(ends.delivered).toBeGreaterThan(count / 4);
  expect(ends.refused).toBeGreaterThan(0);
}

it.each([
  ['a node scaled by 1e306', { nodes: [{ mesh: 0, scale: [1e306, 1e306, 1e306] }] }, 'damaged-value', '/nodes/0/scale'],
  ['a name that is a number', { scenes: [{ nodes: [0], name: 42 }] }, 'damaged-value', '/scenes/0/name'],
  ['no scene', { scene: undefined, scenes: undefined }, 'no-scene', '/scenes'],
  [
    'a light without a list',
    { nodes: [{ mesh: 0, extensions: { KHR_lights_punctual: { light: 0 } } }] },
    'dangling-reference',
    '/nodes/0/extensions/KHR_lights_punctual/light',
  ],
  [
    'a scale that is text, without a map',
    { materials: [{ name: 'Seat', normalTexture: { scale: 'not a number' } }] },
    'damaged-value',
    '/materials/0/normalTexture',
  ],
])('%s is found on arrival, with its place, and the model is delivered', async (what, change, code, where) => {
  const product = `A${what.replace(/\W/g, '')}`.slice(0, 60);
  const base = `/api/products/${product}`;
  await service.call('POST', '/api/products', { code: product, name: what });
  const received = await service.call('PUT', `${base}/model`, triangleGlb(change), GLB);
  expect(received.status).toBe(201);
  expect(received.body.findings).toContainEqual(expect.objectContaining({ code, where }));
  expect(received.body.survey.size).toEqual({ widthMm: 1000, depthMm: 0, heightMm: 1000 });
  // the stored model equals the upload; the delivered one is repaired
  expect(Buffer.from((await service.call('GET', `${base}/model.glb`)).body)).toEqual(triangleGlb(change));
  const [slot] = received.body.slots as { slot: string }[];
  const variants = [{ code: 'V', name: 'V', choices: { [slot!.slot]: 'TRY-A' } }];
  await service.call('PUT', `${base}/schedule`, { default: 'V', variants });
  const delivered = await service.call('POST', `${base}/deliveries`, {});
  expect(delivered.status).toBe(201);
  const manifest = (await service.call('GET', delivered.body.manifest)).body;
  expect(manifest.checks.find(({ check }: { check: string }) => check === 'validator')).toMatchObject({ added: 0 });
});
