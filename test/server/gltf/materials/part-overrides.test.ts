import type { Material } from '@gltf-transform/core';
import { KHRTextureTransform } from '@gltf-transform/extensions';
import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import type { Keep } from '../../../../server/core/product/slot.ts';
import { addPart, addTexture, createDocument, makeNoisePng } from '../../../support/build-model.ts';
import { editGlb, materialsByVariant, readImage, texturesOf } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { createSplicer, RED, type Spliced, type SpliceOptions } from '../../../support/splice.ts';
import { expectSplicePromises } from '../../../support/splice-promises.ts';

// What belongs to the part stays with the part: doubleSided, alphaMode, cutoff and the alpha of the colour map under
// white, occlusion, and the normal map as the slot's `keep` says. Properties are those of glTF 2.0
// (KhronosGroup/glTF 77b44be, specification/2.0/schema/material.schema.json).

const splicer = createSplicer();
const io = createIo();
afterAll(() => splicer.close());

type AssignedMaterial = (document: ReturnType<typeof createDocument>, material: Material) => unknown;

/** One part of one material, and what the two variants make of it. */
async function spliceOne(dress: AssignedMaterial, options: SpliceOptions = {}): Promise<Spliced> {
  const document = createDocument();
  const material = document.createMaterial('Part');
  await dress(document, material);
  addPart(document, { name: 'part', material });
  const spliced = await splicer.splice(await (await io).writeBinary(document), options);
  expectSplicePromises(spliced);
  return spliced;
}

const worn = ({ output }: Spliced, variant = 0) =>
  output.json.materials![materialsByVariant({ ...output }, 0, 0)[variant]!]!;
const keep = (given: Partial<Keep>): SpliceOptions => ({
  changeSlot: (slot) => ({ keep: { ...slot.keep, ...given } }),
});

describe('what stays with the part', () => {
  it('double sides, in every variant', async () => {
    const spliced = await spliceOne((_, material) => material.setDoubleSided(true));
    expect(worn(spliced, 0).doubleSided).toBe(true);
    expect(worn(spliced, 1).doubleSided).toBe(true);
    const plain = await spliceOne(() => undefined);
    expect(worn(plain).doubleSided ?? false).toBe(false);
  });

  it('the occlusion map with its strength, unless the slot says no', async () => {
    const dress: AssignedMaterial = async (document, material) =>
      material.setOcclusionTexture(await addTexture(document, 'ao', 3)).setOcclusionStrength(0.6);
    const kept = await spliceOne(dress);
    expect(worn(kept).occlusionTexture).toEqual({ index: 0, strength: 0.6 });
    expect(readImage(kept.output, 0)).toEqual(readImage(kept.source, 0));
    const without = await spliceOne(dress, keep({ occlusion: false }));
    expect(worn(without).occlusionTexture).toBeUndefined();
    expect(without.written.leftOutBytes).toBeGreaterThan(500);
  });

  it('the normal map alone with its scale, or the finish’s own, as the slot says', async () => {
    const dress: AssignedMaterial = async (document, material) =>
      material.setNormalTexture(await addTexture(document, 'seams', 4)).setNormalScale(0.5);
    const weave = await makeNoisePng(40, 16);
    const cloth = makeFinish('CLOTH', {
      family: 'textile',
      maps: { normal: 'weave' },
      tile: { widthMm: 100, heightMm: 100 },
    });
    const options: SpliceOptions = {
      finishes: [cloth, RED],
      rows: [{ part: 'CLOTH' }, { part: 'RED' }],
      maps: { weave: { bytes: weave, mimeType: 'image/png' } },
    };
    const kept = await spliceOne(dress, { ...options, ...keep({ normal: 'part' }) });
    expect(worn(kept, 0).normalTexture).toEqual({ index: 0, scale: 0.5 });
    expect(worn(kept, 1).normalTexture).toEqual({ index: 0, scale: 0.5 });
    expect(kept.written.findings.map(({ code }) => code)).toContain('finish-map-dropped');

    const own = await spliceOne(dress, { ...options, ...keep({ normal: false }) });
    expect(imageOf(own, worn(own, 0).normalTexture!.index)).toEqual(Buffer.from(weave));
    expect(worn(own, 1).normalTexture).toBeUndefined();
    expect(own.written.findings.map(({ code }) => code)).not.toContain('finish-map-dropped');
  });

  it('alpha mode, cutoff and the alpha of the colour map, under white', async () => {
    const cane = await makeNoisePng(50, 24, true);
    const spliced = await spliceOne((document, material) =>
      material
        .setAlphaMode('MASK')
        .setAlphaCutoff(0.3)
        .setBaseColorTexture(
          document
            .createTexture('cane')
            .setMimeType('image/png')
            .setImage(cane as never),
        ),
    );
    for (const variant of [0, 1]) {
      expect(worn(spliced, variant)).toMatchObject({ alphaMode: 'MASK', alphaCutoff: 0.3 });
      const image = imageOf(spliced, worn(spliced, variant).pbrMetallicRoughness!.baseColorTexture!.index);
      const got = await decode(image);
      const wanted = await decode(Buffer.from(cane));
      expect(got.size).toEqual(wanted.size);
      for (let i = 0; i < wanted.data.length; i += 4) {
        expect([got.data[i], got.data[i + 1], got.data[i + 2]]).toEqual([255, 255, 255]);
        expect(got.data[i + 3]).toBe(wanted.data[i + 3]);
      }
    }
    // both variants share one map, and the coloured one is gone
    expect(new Set([0, 1].map((v) => worn(spliced, v).pbrMetallicRoughness!.baseColorTexture!.index)).size).toBe(1);
    expect(spliced.written.leftOutBytes).toBeGreaterThan(1000);
  });

  it('the default cutoff of a mask stays the default', async () => {
    const spliced = await spliceOne((_, material) => material.setAlphaMode('MASK'));
    expect(worn(spliced).alphaCutoff ?? 0.5).toBe(0.5);
    expect(worn(spliced).alphaMode).toBe('MASK');
  });

  it('the alpha of the factor of a blended part', async () => {
    const spliced = await spliceOne((_, material) => material.setAlphaMode('BLEND').setBaseColorFactor([1, 0, 0, 0.4]));
    expect(worn(spliced).alphaMode).toBe('BLEND');
    expect(worn(spliced).pbrMetallicRoughness!.baseColorFactor![3]).toBe(0.4);
    expect(worn(spliced).pbrMetallicRoughness!.baseColorFactor!.slice(0, 3)).not.toEqual([1, 0, 0]);
  });

  it('where and how the part’s colour map lies, for its alpha', async () => {
    const cane = await makeNoisePng(51, 16, true);
    const spliced = await spliceOne((document, material) => {
      const transform = document.createExtension(KHRTextureTransform).createTransform().setScale([3, 2]);
      material.setAlphaMode('BLEND').setBaseColorTexture(
        document
          .createTexture('cane')
          .setMimeType('image/png')
          .setImage(cane as never),
      );
      material.getBaseColorTextureInfo()!.setExtension('KHR_texture_transform', transform);
    });
    expect(worn(spliced).pbrMetallicRoughness!.baseColorTexture!.extensions).toEqual({
      KHR_texture_transform: { scale: [3, 2] },
    });
    expect(spliced.output.json.extensionsUsed).toContain('KHR_texture_transform');
  });

  it('nothing of alpha when the slot says no', async () => {
    const cane = await makeNoisePng(52, 16, true);
    const spliced = await spliceOne(
      (document, material) =>
        material.setAlphaMode('MASK').setBaseColorTexture(
          document
            .createTexture('cane')
            .setMimeType('image/png')
            .setImage(cane as never),
        ),
      keep({ alpha: false }),
    );
    expect(worn(spliced).alphaMode ?? 'OPAQUE').toBe('OPAQUE');
    expect(texturesOf(worn(spliced))).toEqual([]);
  });

  it('writes the alpha of one image once, though two textures show it', async () => {
    const cane = await makeNoisePng(53, 16, true);
    const document = createDocument();
    const texture = document
      .createTexture('cane')
      .setMimeType('image/png')
      .setImage(cane as never);
    for (const name of ['Back', 'Seat']) {
      const material = document.createMaterial(name).setAlphaMode('MASK').setBaseColorTexture(texture);
      addPart(document, { name, material });
    }
    const model = editGlb(await (await io).writeBinary(document), (json) => {
      const second = json.textures!.push({ ...json.textures![0] }) - 1;
      json.materials![1]!.pbrMetallicRoughness!.baseColorTexture!.index = second;
    });
    expectSplicePromises(await splicer.splice(model));
  });
});

describe('what goes with the old finish', () => {
  it('the part’s own colours, glow and gloss', async () => {
    const spliced = await spliceOne(
      async (document, material) =>
        material
          .setBaseColorFactor([0.9, 0.1, 0.1, 1])
          .setBaseColorTexture(await addTexture(document, 'old colour', 6))
          .setMetallicRoughnessTexture(await addTexture(document, 'old gloss', 7))
          .setEmissiveFactor([1, 1, 1])
          .setEmissiveTexture(await addTexture(document, 'glow', 8)),
      keep({ wear: false }),
    );
    const material = worn(spliced);
    expect(texturesOf(material)).toEqual([]);
    expect(material.emissiveFactor ?? [0, 0, 0]).toEqual([0, 0, 0]);
    expect(spliced.written.leftOutBytes).toBeGreaterThan(3000);
  });

  // COLOR_0 multiplies the base colour: glTF 2.0, Specification.adoc (77b44be), Metallic-Roughness Material
  it('vertex colours come off the primitive, and their accessor stays', async () => {
    const document = createDocument();
    addPart(document, { name: 'tinted', material: document.createMaterial('Part'), colours: true });
    addPart(document, { name: 'fixed', material: document.createMaterial('Fixed'), colours: true });
    const model = await (await io).writeBinary(document);
    const spliced = await splicer.splice(model, { changeSlot: ({ slot }) => ({ fixed: slot === 'fixed' }) });
    expectSplicePromises(spliced);
    const [tinted, fixed] = spliced.output.json.meshes!.map((mesh) => Object.keys(mesh.primitives[0]!.attributes));
    expect(tinted).not.toContain('COLOR_0');
    expect(fixed).toContain('COLOR_0');
    expect(spliced.source.json.meshes![0]!.primitives[0]!.attributes).toHaveProperty('COLOR_0');
  });
});

function imageOf({ output }: Spliced, texture: number): Buffer {
  return readImage(output, output.json.textures![texture]!.source!)!;
}

async function decode(bytes: Buffer) {
  const { data, info } = await sharp(bytes).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
  return { data, size: [info.width, info.height, info.channels] };
}
