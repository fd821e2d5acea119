import { afterAll, describe, expect, it } from 'vitest';
import { breakCrc, makeWholeImages } from '../../../support/damage-images.ts';
import { editGlb, readImage, texturesOf } from '../../../support/glb.ts';
import { KTX2 } from '../../../support/ktx2.ts';
import { createSplicer } from '../../../support/splice.ts';
import { makePanels, USES } from '../../../support/textured-panels.ts';

// glTF 2.0 §3.9 (what a material is without a map), KHR_texture_basisu (KTX2 is named by the extension, which is required
// where there is no other source).

const splicer = createSplicer();
afterAll(() => splicer.close());

const [png] = (await makeWholeImages()).filter(({ type }) => type === 'image/png');
const damaged = { ...png!, bytes: breakCrc(png!.bytes, 'IDAT') };
const ktx2 = { bytes: KTX2.etc1s, type: 'image/ktx2' };
/** Parts that stay as they came. */
const asItCame = { changeSlot: () => ({ fixed: true }) };

describe('a damaged image', () => {
  it('is in no delivery, whatever it is used as, and the maps beside it stay', async () => {
    const model = makePanels([...USES.map(() => damaged), ...USES.map(() => png!)]);
    const spliced = await splicer.splice(model, asItCame);
    const { json } = spliced.output;
    const materials = json.materials!;
    for (const i of USES.keys()) {
      expect(texturesOf(materials[i])).toEqual([]);
      expect(texturesOf(materials[USES.length + i])).toHaveLength(1);
    }
    // what glowed or was metal where the map said so does not do so all over
    expect(materials[USES.indexOf('emissive')]!.emissiveFactor).toBeUndefined();
    expect(materials[USES.indexOf('metallicRoughness')]!.pbrMetallicRoughness!.metallicFactor).toBe(0);
    const left = (json.images ?? []).map((_, i) => readImage(spliced.output, i)!);
    expect(left.filter((bytes) => bytes.equals(damaged.bytes))).toEqual([]);
    expect((await splicer.check(spliced)).filter(({ passed }) => !passed)).toEqual([]);
  });

  it('is not what shapes a part that takes a finish', async () => {
    const model = editGlb(makePanels([damaged]), (json) => {
      json.materials![0]!.alphaMode = 'MASK';
    });
    const { output, survey } = await splicer.splice(model);
    expect(survey.images[0]).toMatchObject({ damaged: true, content: null });
    expect(output.json.materials!.flatMap(texturesOf)).toEqual([]);
  });

  it('gives way to the other source of its texture', async () => {
    const model = editGlb(makePanels([ktx2, damaged]), (json) => {
      json.textures![0]!.source = 1;
    });
    const { output } = await splicer.splice(model, asItCame);
    const [kept] = output.json.textures!;
    expect(kept).toEqual({ extensions: { KHR_texture_basisu: { source: 0 } } });
    expect(texturesOf(output.json.materials![0])).toEqual([0]);
    expect(output.json.extensionsRequired).toEqual(['KHR_texture_basisu']);
  });
});

describe('an image named as another format', () => {
  it('is KTX2 without its extension: it is said, and the delivery names it by it', async () => {
    const spliced = await splicer.splice(makePanels([ktx2], { bare: true }), asItCame);
    expect(spliced.survey.images[0]).toMatchObject({ misplaced: true, damaged: false, undecodable: null });
    const { json } = spliced.output;
    expect(json.textures![0]).toEqual({ extensions: { KHR_texture_basisu: { source: 0 } } });
    expect(json.extensionsUsed).toContain('KHR_texture_basisu');
    expect(json.extensionsRequired).toEqual(['KHR_texture_basisu']);
    expect(readImage(spliced.output, 0)!.equals(ktx2.bytes)).toBe(true);
  });

  it('is PNG under the extension: the delivery names it as what it is', async () => {
    const model = editGlb(makePanels([ktx2, png!]), (json) => {
      json.textures![1] = { extensions: { KHR_texture_basisu: { source: 1 } } };
    });
    const { output, survey } = await splicer.splice(model, asItCame);
    expect(survey.images.map(({ misplaced }) => misplaced)).toEqual([false, true]);
    expect(output.json.textures![1]).toEqual({ source: 1 });
    expect(output.json.textures![0]).toEqual({ extensions: { KHR_texture_basisu: { source: 0 } } });
  });
});
