import { afterAll, describe, expect, it } from 'vitest';
import { readImage, sha256 } from '../../../support/glb.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';
import { createSplicer } from '../../../support/splice.ts';
import { expectSplicePromises } from '../../../support/splice-promises.ts';

// Real models of the registry package @webxr-input-profiles/assets 1.0.20 (MIT), dist/profiles.
const MODELS = [
  'oculus-go/none.glb', // three materials, one image
  'valve-index/right.glb', // 6 MB, large colour and normal maps
  'generic-hand/left.glb', // a skin, no images
  'oculus-touch/left.glb', // two materials, four images
  'magicleap-two/none.glb', // BLEND, transmission and ior
  'pico-4u/left.glb', // eight materials, spaces and # in their names, specular
];

const splicer = createSplicer();
afterAll(() => splicer.close());

describe.each(MODELS)('%s spliced', (path) => {
  const model = readRegistryModel(path);
  const spliced = splicer.splice(model);

  it('keeps every promise of a splice', async () => {
    expectSplicePromises(await spliced);
  });

  it('passes its own checks', async () => {
    for (const check of await splicer.check(await spliced)) expect(check, check.detail).toMatchObject({ passed: true });
  });

  it('is lighter by the images nobody shows any more, give or take its JSON', async () => {
    const { source, output, written } = await spliced;
    const kept = new Set((output.json.images ?? []).map((_, i) => digest(output, i)));
    const gone = (source.json.images ?? []).map((_, i) => ({
      bytes: readImage(source, i)!.length,
      sha: digest(source, i),
    }));
    const freed = gone.filter(({ sha }) => !kept.has(sha)).reduce((sum, { bytes }) => sum + bytes, 0);
    // up to three bytes of padding an image, and one dot of a placeholder
    const slack = 4 * gone.length + 128;
    expect(source.bin.length - output.bin.length).toBeGreaterThanOrEqual(freed - slack);
    expect(source.bin.length - output.bin.length).toBeLessThanOrEqual(freed + slack);
    expect(Math.abs(written.leftOutBytes - freed)).toBeLessThanOrEqual(slack);
    expect(written.deadBytes).toBe(0);
  });

  it('is the same file for the same input', async () => {
    const again = await splicer.splice(model);
    expect(sha256(again.file)).toBe(sha256((await spliced).file));
  });
});

describe('oculus-go/none.glb with one slot fixed', () => {
  it('keeps that material, its texture and the image where they were, and the image in the file', async () => {
    const spliced = await splicer.splice(readRegistryModel('oculus-go/none.glb'), {
      changeSlot: ({ materials }) => ({ fixed: materials[0] === 1 }),
    });
    expectSplicePromises(spliced);
    expect(readImage(spliced.output, 0)).toEqual(readImage(spliced.source, 0));
    expect(spliced.written.leftOutBytes).toBe(0);
  });

  it('keeps the model’s own material where a cell is empty', async () => {
    const model = readRegistryModel('oculus-touch/left.glb');
    const first = await splicer.splice(model);
    const [a, b] = first.slots.map(({ slot }) => slot) as [string, string];
    const spliced = await splicer.splice(model, { rows: [{ [a]: 'RED', [b]: 'RED' }, { [a]: 'BLUE' }] });
    expectSplicePromises(spliced);
    expect(spliced.output.bin.length).toBeGreaterThan(first.output.bin.length);
  });
});

function digest(glb: Parameters<typeof readImage>[0], index: number): string {
  return sha256(readImage(glb, index)!);
}
