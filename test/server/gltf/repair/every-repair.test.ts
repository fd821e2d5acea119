import { describe, expect, it } from 'vitest';
import { REPAIRS, type Repair } from '../../../../server/core/repair/repair.ts';
import { checkStructure } from '../../../../server/gltf/receive/check-structure.ts';
import { triangleGlb, triangleJson } from '../../../support/bad-models.ts';
import { makeGlb, readGlb } from '../../../support/glb.ts';
import { listOddModels, makeRichModels } from '../../../support/odd-models.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';
import { repairBytes } from '../../../support/repair.ts';
import { listValidatorErrors } from '../../../support/validate.ts';

// Every repair on models of all kinds: it succeeds with no error the Khronos validator did not find before, or it changes
// nothing. The registry models are those of `@webxr-input-profiles/assets`.

const EVERY: readonly Repair[] = [
  { repair: 'scale', factor: 0.01 },
  { repair: 'scale', toHeightMm: 820 },
  { repair: 'place', mount: 'floor' },
  { repair: 'place', mount: 'ceiling' },
  { repair: 'place', mount: 'wall' },
  { repair: 'bake-transforms' },
  { repair: 'merge-parts' },
  { repair: 'separate-pieces', material: '/materials/0', groups: [{ name: 'Rest', pieces: ['000000000000'] }] },
  { repair: 'set-nonmetal' },
  { repair: 'neutral-detail' },
  { repair: 'fit-textures', sizePx: 16, format: 'jpg' },
  { repair: 'strip-unused' },
  { repair: 'rename-materials', names: [{ from: '/materials/0', to: 'First' }] },
  { repair: 'fix-scene' },
  { repair: 'unshare-mesh' },
  { repair: 'box-uvs' },
  { repair: 'box-uvs', materials: ['/materials/0'], metresPerUnit: 0.5, accept: true },
  { repair: 'turn-outward' },
  { repair: 'turn-outward', materials: ['/materials/0'] },
  { repair: 'turn-outward', pieces: ['000000000000'] },
  { repair: 'turn', axis: 'x', degrees: 90 },
  { repair: 'turn', axis: 'y', degrees: -33.3 },
];

const REGISTRY = [
  'generic-hand/left.glb',
  'generic-trigger/none.glb',
  'google-daydream/none.glb',
  'magicleap-two/none.glb',
  'pico-4u/left.glb',
  'pico-neo3/right.glb',
  'samsung-odyssey/left.glb',
];

const codesOf = (errors: readonly string[]) => new Set(errors.map((error) => error.split(' ')[0]));

async function expectSafe(source: Buffer): Promise<void> {
  const plain = await repairBytes(source, []);
  const before = codesOf(await listValidatorErrors(source));
  for (const repair of EVERY) {
    const { glb, reports, materialOrigins } = await repairBytes(source, [{ ...repair, accept: true }], 'lenient');
    const [report] = reports;
    const { json } = readGlb(glb);
    expect(report!.message, repair.repair).not.toBe('');
    expect(materialOrigins, repair.repair).toHaveLength(json.materials?.length ?? 0);
    if (report!.outcome === 'done') {
      const more = [...codesOf(await listValidatorErrors(glb))].filter((code) => !before.has(code));
      expect(more, `${repair.repair}: ${report!.message}`).toEqual([]);
      checkStructure(json);
    } else {
      expect(glb.equals(plain.glb), `${repair.repair} says ${report!.outcome} and changed something`).toBe(true);
    }
  }
}

describe('every repair', () => {
  it('refuses a model whose data URI is shorter than it says, and writes nothing', async () => {
    const uri = 'data:application/octet-stream;base64,AAAA';
    const source = makeGlb(triangleJson({ buffers: [{ byteLength: 36, uri }] }));
    await expect(repairBytes(source, [], 'lenient')).rejects.toMatchObject({ code: 'model-truncated' });
  });

  it('is tried here', () => {
    expect(new Set(EVERY.map(({ repair }) => repair))).toEqual(new Set(Object.keys(REPAIRS)));
  });

  it.each(Object.entries(listOddModels()))('succeeds or changes nothing on: %s', async (_, source) => {
    checkStructure(readGlb(source).json);
    await expectSafe(source);
  });

  it('comes to an end on a chain of 50,000 nodes and on as many side by side', async () => {
    const nodes = 50_000;
    const chain = Array.from({ length: nodes }, (_, i) => (i + 1 < nodes ? { children: [i + 1] } : { mesh: 0 }));
    const fan = Array.from({ length: nodes }, () => ({ mesh: 0, translation: [1, 0, 0], scale: [2, 2, 2] }));
    for (const more of [{ nodes: chain }, { nodes: fan, scenes: [{ nodes: [...fan.keys()] }] }]) {
      const all = EVERY.map((repair) => ({ ...repair, accept: true }));
      const { reports } = await repairBytes(triangleGlb(more), all, 'lenient');
      expect(reports).toHaveLength(EVERY.length);
    }
  });

  it.each(REGISTRY)('succeeds or changes nothing on %s', async (path) => {
    await expectSafe(readRegistryModel(path));
  });

  it('succeeds or changes nothing on a model with one of everything, plain and packed', async () => {
    for (const [name, source] of Object.entries(await makeRichModels())) {
      checkStructure(readGlb(source).json);
      await expectSafe(source).catch((cause: Error) => {
        throw new Error(`${name}: ${cause.message}`, { cause });
      });
    }
  });

  it('makes all of them in one call, the same file every time', async () => {
    for (const source of Object.values(await makeRichModels())) {
      const all = EVERY.map((repair) => ({ ...repair, accept: true }));
      const [first, second] = [await repairBytes(source, all, 'lenient'), await repairBytes(source, all, 'lenient')];
      expect(await listValidatorErrors(first.glb)).toEqual([]);
      expect(second.sha256).toBe(first.sha256);
    }
  });
});
