import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { Problem } from '../../../../server/core/problems.ts';
import { makeClothMaps } from '../../../support/cloth-maps.ts';
import { expectExtracted, extract } from '../../../support/extracted.ts';
import { editGlb, readGlb, sha256 } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { measureInThree } from '../../../support/measure-in-three.ts';
import { openInBabylon } from '../../../support/open-in-babylon.ts';
import { readRegistryModel } from '../../../support/registry-models.ts';
import { makeRichModel } from '../../../support/rich-model.ts';
import { createSplicer } from '../../../support/splice.ts';

// KhronosGroup/glTF 77b44be, KHR_materials_variants: a file without the extension shows what primitive.material says. Readers of
// others: the Khronos validator, three's GLTFLoader, Babylon.js. Models: @webxr-input-profiles/assets 1.0.20 (MIT).

const splicer = createSplicer();
afterAll(() => splicer.close());

const [DYED, DARK] = ['d'.repeat(64), 'e'.repeat(64)];
const tile = { widthMm: 60, heightMm: 60 };
const FINISHES = [
  makeFinish('RED', { colour: { hex: '#b3202a' } }),
  makeFinish('GLASS', { family: 'glass', transmission: 1, ior: 1.6 }),
  makeFinish('WOOL', { family: 'textile', tile, maps: { colour: DYED } }),
  makeFinish('FELT', { family: 'textile', tile, maps: { colour: DARK, normal: DYED } }),
];

/** A delivery in which every slot has every finish, in another order for each. */
async function deliver(model: Uint8Array, fixed = 0) {
  const { dyed, dark } = await makeClothMaps();
  const surveyed = await splicer.splice(model);
  const slots = surveyed.slots.map(({ slot }) => slot).slice(fixed);
  return splicer.splice(model, {
    finishes: FINISHES,
    maps: { [DYED]: { bytes: dyed, mimeType: 'image/png' }, [DARK]: { bytes: dark, mimeType: 'image/png' } },
    changeSlot: ({ slot }) => ({ fixed: !slots.includes(slot) }),
    rows: FINISHES.map((_, row) =>
      Object.fromEntries(slots.map((slot, at) => [slot, FINISHES[(row + at) % FINISHES.length]!.finish])),
    ),
  });
}

const MODELS = [
  ['oculus-go/none.glb', 1],
  ['valve-index/right.glb', 0],
  ['generic-hand/left.glb', 0],
  ['magicleap-two/none.glb', 0],
  ['pico-4u/left.glb', 3],
] as const;

describe.each([...MODELS, ['rich', 0]] as const)('%s', (path, fixed) => {
  const delivered = (async () =>
    deliver(
      path === 'rich' ? await (await createIo()).writeBinary(await makeRichModel()) : readRegistryModel(path),
      fixed,
    ))();
  const count = FINISHES.length;

  it.each(Array.from({ length: count }, (_, index) => index))(
    'variant %i alone: the same looks, no extension',
    async (index) => {
      const { file } = await delivered;
      const request = { variants: [index], first: index, withExtension: false };
      const alone = await extract(file, request);
      await expectExtracted(file, alone, request);
      expect(sha256(await extract(file, request))).toBe(sha256(alone));
      expect(alone.length).toBeLessThan(file.length);
      expect(await measureInThree(alone)).toEqual(await measureInThree(file));
      const [whole, one] = [await openInBabylon(file), await openInBabylon(alone)];
      whole.select(whole.variants[index]!);
      expect(one.variants ?? []).toEqual([]);
      const bare = ({ list }: typeof one) =>
        list().map(({ pointer, albedo, roughness, metallic }) => ({ pointer, albedo, roughness, metallic }));
      expect(bare(one)).toEqual(bare(whole));
      whole.close();
      one.close();
    },
  );

  it.each([
    [[1, 3], 3],
    [[2], 2],
    [[0, 1, 2, 3], 0],
  ])('variants %j with the extension: the same looks', async (variants, first) => {
    const { file } = await delivered;
    const request = { variants, first, withExtension: true };
    const some = await extract(file, request);
    await expectExtracted(file, some, request);
    const opened = await openInBabylon(some);
    expect([...opened.variants]).toEqual(variants.map((variant) => `Variant number ${variant}`));
    opened.close();
  });
});

describe('an extension that nobody here knows', () => {
  it('keeps everything but the mappings, since it may refer to anything', async () => {
    const { file } = await deliver(
      editGlb(readRegistryModel('oculus-go/none.glb'), (json) => {
        json.extensionsUsed = [...(json.extensionsUsed ?? []), 'VENDOR_unknown'];
      }),
    );
    const request = { variants: [1], first: 1, withExtension: false };
    const alone = await extract(file, request);
    await expectExtracted(file, alone, request);
    const [before, after] = [readGlb(file), readGlb(alone)];
    for (const key of ['materials', 'textures', 'images', 'bufferViews'] as const)
      expect(after.json[key]).toEqual(before.json[key]);
    expect(after.bin.equals(before.bin)).toBe(true);
    expect(after.json.extensionsUsed).toContain('VENDOR_unknown');
  });
});

// Models by other people, which are not part of this project: the GLBs of the folder that DYEWORKS_TEST_MODELS names.
const folder = process.env.DYEWORKS_TEST_MODELS ?? '';
describe.runIf(folder)('models of others', () => {
  const names = folder
    ? readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((name) => /\.glb$/i.test(name))
    : [];

  it.each(names)('%s: each variant alone, and a pair', async (name) => {
    const spliced = await deliver(readFileSync(join(folder, name))).catch((error: unknown) => {
      if (error instanceof Problem) return null;
      throw error;
    });
    if (!spliced) return;
    for (const request of [
      { variants: [1], first: 1, withExtension: false },
      { variants: [0, 3], first: 3, withExtension: true },
    ]) {
      await expectExtracted(spliced.file, await extract(spliced.file, request), request);
    }
  });
});
