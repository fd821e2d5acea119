import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import type { Finish } from '../../../../server/core/finish/finish.ts';
import { KEEP_ALL } from '../../../../server/core/product/slot.ts';
import { addPart, createDocument, makeNoisePng } from '../../../support/build-model.ts';
import { editGlb, materialsByVariant, readImage, texturesOf } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { createSplicer, type Spliced, type SpliceOptions } from '../../../support/splice.ts';
import { expectSplicePromises } from '../../../support/splice-promises.ts';

// A part's roughness map is kept as relative wear. What is seen is factor × green, metalness is factor × blue, both linear
// (glTF 2.0 §3.9.2).

const splicer = createSplicer();
afterAll(() => splicer.close());

const SATIN = makeFinish('SATIN', { roughness: 0.2 });
const MATT = makeFinish('MATT', { roughness: 0.95 });
const STEEL = makeFinish('STEEL', { family: 'bare-metal', roughness: 0.2, metal: true });

/** A map by its green and blue codes. */
async function makeMap(texel: (i: number) => readonly [green: number, blue: number]): Promise<Uint8Array> {
  const data = Buffer.from(Array.from({ length: 32 * 32 }, (_, i) => [255, ...texel(i)]).flat());
  return sharp(data, { raw: { width: 32, height: 32, channels: 3 } })
    .png()
    .toBuffer();
}
/** Green between 64 and 191, 127.5 in the mean. */
const green = (i: number) => 64 + ((i * 37) % 128);

async function makeModel(image: Uint8Array): Promise<Uint8Array> {
  const document = createDocument();
  const texture = document.createTexture('wear').setMimeType('image/png').setImage(new Uint8Array(image));
  const material = document.createMaterial('part').setMetallicRoughnessTexture(texture).setRoughnessFactor(0.7);
  addPart(document, { name: 'part', material });
  return (await createIo()).writeBinary(document);
}

async function splice(model: Uint8Array, finishes: readonly Finish[], more: Partial<SpliceOptions> = {}) {
  const spliced = await splicer.splice(model, {
    finishes,
    rows: finishes.map(({ finish }) => ({ part: finish })),
    ...more,
  });
  expectSplicePromises(spliced);
  return spliced;
}

const worn = ({ output }: Spliced, variant = 0) => output.json.materials![materialsByVariant(output, 0, 0)[variant]!]!;
const codes = ({ written }: Spliced) => written.findings.map(({ code }) => code);

describe('a part that keeps its wear', () => {
  it('comes out at the finish’s roughness in the mean, to 1e-6', async () => {
    const gloss = makeFinish('GLOSS', { roughness: 0.05 });
    const spliced = await splice(await makeModel(await makeMap((i) => [green(i), 255])), [SATIN, gloss]);
    for (const [variant, finish] of [SATIN, gloss].entries()) {
      const { metallicRoughnessTexture, roughnessFactor, metallicFactor } = worn(spliced, variant)
        .pbrMetallicRoughness!;
      const { source } = spliced.output.json.textures![metallicRoughnessTexture!.index]!;
      const data = await sharp(readImage(spliced.output, source!)!).extractChannel(1).raw().toBuffer();
      const mean = data.reduce((sum, code) => sum + code, 0) / data.length / 255;
      expect(Math.abs(roughnessFactor! * mean - finish.roughness!)).toBeLessThan(1e-6);
      // whatever blue says, no metal comes of it
      expect(metallicFactor).toBe(0);
    }
    expect(spliced.written.addedImageBytes).toBe(0);
    expect(spliced.written.leftOutBytes).toBe(0);
    expect(codes(spliced)).toEqual([]);
    expect((await splicer.check(spliced)).every(({ passed }) => passed)).toBe(true);
  });

  it('says what factor a rougher finish asks for, and gives the most there is', async () => {
    const spliced = await splice(await makeModel(await makeMap((i) => [green(i), 0])), [MATT]);
    expect(worn(spliced).pbrMetallicRoughness!.roughnessFactor ?? 1).toBe(1);
    const [finding, ...more] = spliced.written.findings;
    expect(more).toEqual([]);
    expect(finding!.code).toBe('out-of-reach');
    expect((finding!.seen as { roughnessFactor: number }).roughnessFactor).toBeCloseTo(0.95 / (127.5 / 255), 6);
  });

  it('stays a metal under a metal, or lets the map go and says so', async () => {
    const full = await splice(await makeModel(await makeMap((i) => [green(i), 255])), [STEEL]);
    expect(texturesOf(worn(full))).toHaveLength(1);
    expect(worn(full).pbrMetallicRoughness!.metallicFactor ?? 1).toBe(1);
    const patchy = await splice(await makeModel(await makeMap((i) => [green(i), i % 2 ? 255 : 0])), [STEEL]);
    expect(texturesOf(worn(patchy))).toEqual([]);
    expect(worn(patchy).pbrMetallicRoughness!.roughnessFactor).toBe(0.2);
    expect(codes(patchy)).toEqual(['wear-dropped']);
    expect(patchy.written.leftOutBytes).toBeGreaterThan(100);
  });

  it('has none in a uniform map, which goes', async () => {
    const spliced = await splice(await makeModel(await makeMap((i) => [128, i % 256])), [SATIN]);
    expect(texturesOf(worn(spliced))).toEqual([]);
    expect(worn(spliced).pbrMetallicRoughness!.roughnessFactor).toBe(0.2);
    expect(spliced.written.leftOutBytes).toBeGreaterThan(100);
  });

  it('makes way when its slot says so, and for a roughness map of the finish', async () => {
    const model = await makeModel(await makeMap((i) => [green(i), 0]));
    const without = await splice(model, [SATIN], { changeSlot: () => ({ keep: { ...KEEP_ALL, wear: false } }) });
    expect(texturesOf(worn(without))).toEqual([]);
    expect(worn(without).pbrMetallicRoughness!.roughnessFactor).toBe(0.2);

    const grain = await makeNoisePng(35, 16);
    const cloth = makeFinish('CLOTH', {
      roughness: 0.9,
      maps: { roughness: 'grain' },
      tile: { widthMm: 100, heightMm: 100 },
    });
    const own = await splice(model, [cloth], { maps: { grain: { bytes: grain, mimeType: 'image/png' } } });
    const { index } = worn(own).pbrMetallicRoughness!.metallicRoughnessTexture!;
    expect(readImage(own.output, own.output.json.textures![index]!.source!)).toEqual(Buffer.from(grain));
    expect(codes(own)).toEqual([]);
  });

  it('is kept by a slot stored before there was such a choice, as the map lay', async () => {
    const { wear: _, ...old } = KEEP_ALL;
    const model = editGlb(await makeModel(await makeMap((i) => [green(i), 0])), (json) => {
      const info = json.materials![0]!.pbrMetallicRoughness!.metallicRoughnessTexture!;
      info.extensions = { KHR_texture_transform: { scale: [3, 2] } };
      json.extensionsUsed = [...(json.extensionsUsed ?? []), 'KHR_texture_transform'];
    });
    const spliced = await splice(model, [SATIN], { changeSlot: () => ({ keep: old as typeof KEEP_ALL }) });
    expect(worn(spliced).pbrMetallicRoughness!.metallicRoughnessTexture).toEqual({
      index: 0,
      extensions: { KHR_texture_transform: { scale: [3, 2] } },
    });
    expect(spliced.output.json.extensionsUsed).toContain('KHR_texture_transform');
  });
});
