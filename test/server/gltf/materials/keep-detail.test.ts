import { differenceCiede2000, parse } from 'culori';
import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import type { Finish } from '../../../../server/core/finish/finish.ts';
import { KEEP_ALL } from '../../../../server/core/product/slot.ts';
import { addPart, createDocument, makeNoisePng } from '../../../support/build-model.ts';
import { editGlb, materialsByVariant, readImage } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { addSolid, makeGrid } from '../../../support/make-solid.ts';
import { createRandom } from '../../../support/random.ts';
import { repairBytes } from '../../../support/repair.ts';
import { createSplicer, type Spliced, type SpliceOptions } from '../../../support/splice.ts';
import { expectSplicePromises } from '../../../support/splice-promises.ts';

// An eight-bit map cannot vary and have a mean of 1: neutral detail is scaled to a maximum of 1, and the factor carries
// target ÷ mean. What is seen is factor × texel in linear light (glTF 2.0 §3.9.2).

const splicer = createSplicer();
afterAll(() => splicer.close());

/** IEC 61966-2-1, decoding, written out here once more. */
const linear = (code: number) => {
  const value = code / 255;
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
};

/** A part whose colour map has become neutral detail by the repair itself. */
async function makeDetailed(image?: Uint8Array, alphaMode: 'OPAQUE' | 'MASK' = 'OPAQUE'): Promise<Uint8Array> {
  const document = createDocument();
  const texture = document
    .createTexture('cloth')
    .setMimeType('image/png')
    .setImage(new Uint8Array(image ?? (await makeNoisePng(31, 32))));
  const material = document.createMaterial('part').setBaseColorTexture(texture).setAlphaMode(alphaMode);
  addPart(document, { name: 'part', material });
  const source = await (await createIo()).writeBinary(document);
  return (await repairBytes(source, [{ repair: 'neutral-detail' }])).glb;
}

async function splice(model: Uint8Array, finishes: readonly Finish[], more: Partial<SpliceOptions> = {}) {
  const rows = finishes.map(({ finish }) => ({ part: finish }));
  const spliced = await splicer.splice(model, { finishes, rows, ...more });
  expectSplicePromises(spliced);
  return spliced;
}

const worn = ({ output }: Spliced, variant: number) =>
  output.json.materials![materialsByVariant(output, 0, 0)[variant]!]!;

/** The mean, in linear light, of factor × map: what the part shows from afar. */
async function meanSeen(spliced: Spliced, variant: number): Promise<number[]> {
  const { baseColorFactor = [1, 1, 1, 1], baseColorTexture } = worn(spliced, variant).pbrMetallicRoughness!;
  const png = readImage(spliced.output, spliced.output.json.textures![baseColorTexture!.index]!.source!)!;
  const { data, info } = await sharp(png).toColourspace('srgb').raw().toBuffer({ resolveWithObject: true });
  const sums = [0, 0, 0];
  for (let i = 0; i < data.length; i += info.channels) for (const c of [0, 1, 2]) sums[c]! += linear(data[i + c]!);
  return sums.map((sum, c) => (sum / (data.length / info.channels)) * baseColorFactor[c]!);
}

const codesOf = (hex: string) => [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16));

/** A shoe of one baked material: the upper on the dark left half of its atlas, the sole on the light right half. */
async function makeShoe(): Promise<Uint8Array> {
  const { next } = createRandom(5);
  const atlas = Buffer.from(
    Array.from({ length: 64 * 64 }, (_, i) => (i % 64 < 32 ? 20 + 25 * next() : 190 + 60 * next())).flatMap((code) => [
      code,
      code * 0.9,
      code * 0.8,
    ]),
  );
  const raw = { width: 64, height: 64, channels: 3 } as const;
  const document = createDocument();
  const texture = document
    .createTexture('atlas')
    .setMimeType('image/png')
    .setImage(new Uint8Array(await sharp(atlas, { raw }).png().toBuffer()));
  const material = document.createMaterial('shoe').setBaseColorTexture(texture);
  for (const [name, from] of [['upper', 0] as const, ['sole', 0.5] as const]) {
    const solid = makeGrid(4, 4, (u, v) => [u + 2 * from, v, 0]);
    const uvs = solid.uvs.map((value, i) => (i % 2 === 0 ? from + value / 2 : value));
    addSolid(document, name, { ...solid, uvs }, material);
  }
  const baked = await (await createIo()).writeBinary(document);
  const { glb } = await repairBytes(baked, [{ repair: 'neutral-detail' }]);
  // parted afterwards, each with the mean of the whole atlas beside it
  return editGlb(glb, (json) => {
    json.materials!.push({ ...structuredClone(json.materials![0]!), name: 'sole' });
    json.materials![0]!.name = 'upper';
    json.meshes![1]!.primitives[0]!.material = 1;
  });
}

describe('parts that share one atlas of neutral detail', () => {
  it('each come out in the finish’s colour, though one half of it is dark', async () => {
    const cream = makeFinish('CREAM', { colour: { hex: '#e8dfc8' } });
    const model = await makeShoe();
    const spliced = await splicer.splice(model, { finishes: [cream], rows: [{ upper: 'CREAM', sole: 'CREAM' }] });
    expectSplicePromises(spliced);
    for (const [mesh, from] of [[0, 0] as const, [1, 32] as const]) {
      const material = spliced.output.json.materials![materialsByVariant(spliced.output, mesh, 0)[0]!]!;
      const { baseColorFactor = [1, 1, 1, 1], baseColorTexture } = material.pbrMetallicRoughness!;
      const png = readImage(spliced.output, spliced.output.json.textures![baseColorTexture!.index]!.source!)!;
      const data = await sharp(png).toColourspace('srgb').removeAlpha().raw().toBuffer();
      const sum = [0, 0, 0];
      for (let y = 0; y < 64; y++) {
        for (let x = from; x < from + 32; x++) {
          for (const c of [0, 1, 2]) sum[c]! += linear(data[(y * 64 + x) * 3 + c]!) * baseColorFactor[c]!;
        }
      }
      const [r, g, b] = sum.map((value) => value / (64 * 32));
      // CIEDE2000 by culori
      const off = differenceCiede2000()(parse('#e8dfc8'), { mode: 'lrgb', r: r!, g: g!, b: b! });
      expect(off, spliced.output.json.materials![0]!.name).toBeLessThan(0.3);
    }
    expect(spliced.written.findings.map(({ code }) => code)).not.toContain('out-of-reach');
    expect((await splicer.check(spliced)).every(({ passed }) => passed)).toBe(true);
  });
});

describe('a part that keeps its neutral detail', () => {
  it('comes out in the finish’s colour in the mean, to 1e-6 in linear light', async () => {
    const hexes = ['#7a1f2b', '#1f4e8c', '#3d3d3d', '#000000'];
    const finishes = hexes.map((hex, i) => makeFinish(`F${i}`, { colour: { hex } }));
    const spliced = await splice(await makeDetailed(), finishes);
    for (const [variant, hex] of hexes.entries()) {
      const seen = await meanSeen(spliced, variant);
      codesOf(hex).forEach((code, c) => {
        expect(Math.abs(seen[c]! - linear(code))).toBeLessThan(1e-6);
      });
    }
    // all variants share the one map, and nothing was added
    expect(new Set(hexes.map((_, v) => worn(spliced, v).pbrMetallicRoughness!.baseColorTexture!.index)).size).toBe(1);
    expect(spliced.written.addedImageBytes).toBe(0);
    expect(spliced.written.findings.map(({ code }) => code)).not.toContain('out-of-reach');
    expect((await splicer.check(spliced)).every(({ passed }) => passed)).toBe(true);
  });

  it('says what can be reached of a colour lighter than its map, and reaches it', async () => {
    const spliced = await splice(await makeDetailed(), [makeFinish('SNOW', { colour: { hex: '#ffffff' } })]);
    const [material] = [worn(spliced, 0)];
    expect(material.pbrMetallicRoughness!.baseColorFactor ?? [1, 1, 1, 1]).toEqual([1, 1, 1, 1]);
    const [finding, ...more] = spliced.written.findings.filter(({ code }) => code === 'out-of-reach');
    expect(more).toEqual([]);
    const { hex } = finding!.seen as { hex: string };
    const seen = await meanSeen(spliced, 0);
    codesOf(hex).forEach((code, c) => {
      // the hex is rounded to a code
      expect(Math.abs(seen[c]! - linear(code))).toBeLessThan(0.005);
    });
  });

  it('shows the plain finish when its slot does not keep it', async () => {
    const plain = await splice(await makeDetailed(), [makeFinish('SNOW', { colour: { hex: '#ffffff' } })], {
      changeSlot: () => ({ keep: { ...KEEP_ALL, detail: false } }),
    });
    expect(worn(plain, 0).pbrMetallicRoughness!.baseColorTexture).toBeUndefined();
    expect(plain.written.findings).toEqual([]);
    expect(plain.written.leftOutBytes).toBeGreaterThan(500);
  });

  it('keeps it when the slot was stored before there was anything to say of it', async () => {
    const { detail: _, ...old } = KEEP_ALL;
    const spliced = await splice(await makeDetailed(), [makeFinish('RED', { colour: { hex: '#7a1f2b' } })], {
      changeSlot: () => ({ keep: old as typeof KEEP_ALL }),
    });
    expect(worn(spliced, 0).pbrMetallicRoughness!.baseColorTexture).toBeDefined();
  });

  it('makes way for a colour map of the finish', async () => {
    const print = await makeNoisePng(33, 16);
    const finish = makeFinish('PRINT', {
      colour: { hex: '#ffffff' },
      maps: { colour: 'print' },
      tile: { widthMm: 100, heightMm: 100 },
    });
    const spliced = await splice(await makeDetailed(), [finish], {
      maps: { print: { bytes: print, mimeType: 'image/png' } },
    });
    const { index } = worn(spliced, 0).pbrMetallicRoughness!.baseColorTexture!;
    expect(readImage(spliced.output, spliced.output.json.textures![index]!.source!)).toEqual(Buffer.from(print));
    expect(spliced.written.findings.map(({ code }) => code)).not.toContain('out-of-reach');
  });

  it('keeps how the map is laid, and its alpha as the part’s shape', async () => {
    const cane = Buffer.from(
      Array.from({ length: 32 * 32 }, (_, i) => (i % 2 ? [120 + (i % 64), 90, 60, 255] : [9, 9, 9, 0])).flat(),
    );
    const png = await sharp(cane, { raw: { width: 32, height: 32, channels: 4 } })
      .png()
      .toBuffer();
    const model = editGlb(await makeDetailed(png, 'MASK'), (json) => {
      const info = json.materials![0]!.pbrMetallicRoughness!.baseColorTexture!;
      info.extensions = { KHR_texture_transform: { scale: [3, 2] } };
      json.extensionsUsed = [...(json.extensionsUsed ?? []), 'KHR_texture_transform'];
    });
    const spliced = await splice(model, [makeFinish('RED', { colour: { hex: '#7a1f2b' } })]);
    const material = worn(spliced, 0);
    expect(material.alphaMode).toBe('MASK');
    const { index, extensions } = material.pbrMetallicRoughness!.baseColorTexture!;
    expect(extensions).toEqual({ KHR_texture_transform: { scale: [3, 2] } });
    const map = readImage(spliced.output, spliced.output.json.textures![index]!.source!)!;
    const alpha = await sharp(map).extractChannel('alpha').raw().toBuffer();
    expect([...alpha.subarray(0, 4)]).toEqual([0, 255, 0, 255]);
    expect(spliced.written.addedImageBytes).toBe(0);
  });

  it('says by what the factor was divided, so that the file can be taken in again', async () => {
    const model = await makeDetailed();
    const spliced = await splice(model, [makeFinish('RED', { colour: { hex: '#7a1f2b' } })]);
    const { mean } = spliced.survey.materials[0]!.neutralDetail!;
    expect(worn(spliced, 0).extras).toEqual({ neutralDetail: { mean } });
    const again = await splicer.survey(spliced.file);
    expect(again.materials.map((material) => material.neutralDetail?.mean)).toContain(mean);
  });
});
