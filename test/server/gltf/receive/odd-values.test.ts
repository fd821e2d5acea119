import { afterAll, expect, it } from 'vitest';
import { Problem } from '../../../../server/core/problems.ts';
import { makeGlb, readGlb } from '../../../support/glb.ts';
import { createRandom } from '../../../support/random.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';
import { createSplicer } from '../../../support/splice.ts';

// Real models (registry package @webxr-input-profiles/assets 1.0.20, MIT) with one value of their JSON exchanged for an
// odd one: each is refused with a code, or read and delivered. Nothing else may come of it.

const ODD = [
  undefined,
  null,
  -1,
  0,
  1e9,
  2 ** 53,
  1.5,
  '',
  'x',
  [],
  {},
  [null],
  [0, 0],
  true,
  { index: 0 },
  [[]],
  'data:,',
];
type Path = readonly (string | number)[];

const splicer = createSplicer();
afterAll(() => splicer.close());

function listPaths(value: unknown, at: Path = []): Path[] {
  if (typeof value !== 'object' || value === null) return [at];
  return [at, ...Object.entries(value).flatMap(([key, child]) => listPaths(child, [...at, key]))];
}

function exchange(json: unknown, path: Path, odd: unknown): unknown {
  const copy = structuredClone(json);
  let at = copy as Record<string | number, unknown>;
  for (const key of path.slice(0, -1)) at = at[key] as Record<string | number, unknown>;
  at[path[path.length - 1]!] = odd;
  return copy;
}

it.each([
  ['pico-4u/left.glb', 5],
  ['generic-hand/left.glb', 6],
  ['magicleap-two/none.glb', 7],
])('%s with odd values is refused with a code, or delivered', async (model, start) => {
  const { json, bin } = readGlb(readRegistryModel(model));
  const paths = listPaths(json).filter((path) => path.length > 0);
  const random = createRandom(start);
  const faults: string[] = [];
  let refused = 0;
  let delivered = 0;
  for (let i = 0; i < 60; i++) {
    const path = random.pick(paths);
    const odd = random.pick(ODD);
    try {
      await splicer.splice(makeGlb(exchange(json, path, odd), bin));
      delivered++;
    } catch (error) {
      if (error instanceof Problem) refused++;
      else faults.push(`${path.join('/')} = ${JSON.stringify(odd)}: ${(error as Error).message}`);
    }
  }
  expect(faults).toEqual([]);
  expect(refused).toBeGreaterThan(5);
  expect(delivered).toBeGreaterThan(5);
});
