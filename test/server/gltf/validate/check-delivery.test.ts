import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { makeHead } from '../../../../server/gltf/document/container.ts';
import { checkDelivery } from '../../../../server/gltf/validate/check-delivery.ts';

/** What the rules say of two primitives with these variants in their one mapping. */
async function checkRules(...variants: readonly (readonly number[])[]): Promise<string> {
  const folder = mkdtempSync(join(tmpdir(), 'dyeworks-test-'));
  try {
    const path = join(folder, 'model.glb');
    const primitives = variants.map((of) => ({
      attributes: {},
      material: 0,
      extensions: { KHR_materials_variants: { mappings: [{ material: 0, variants: of }] } },
    }));
    const json = {
      asset: { version: '2.0' },
      extensionsUsed: ['KHR_materials_variants'],
      extensions: { KHR_materials_variants: { variants: [{ name: 'A' }, { name: 'B' }] } },
      materials: [{ name: 'M' }],
      meshes: [{ primitives }],
    };
    writeFileSync(path, makeHead(json as never, 0));
    const [rules] = await checkDelivery(path, path, { variants: ['A', 'B'], results: [], primitives: [] }, [], 0);
    return rules!.passed ? 'passed' : rules!.detail;
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const AT = '/meshes/0/primitives/1';

it('finds a variant that a primitive has twice, not at all, or that does not exist, whatever others have', async () => {
  expect(await checkRules([0, 1], [1, 0])).toBe('passed');
  expect(await checkRules([0, 1], [0, 1, 0])).toBe(`${AT}: variant 0 twice`);
  expect(await checkRules([0, 1], [1])).toBe(`${AT}: 1 variants without a material`);
  expect(await checkRules([0, 1], [0, 1, 2])).toBe(`${AT}: variant 2 is not there`);
});
