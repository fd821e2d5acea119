import { afterAll, describe, expect, it } from 'vitest';
import type { Finish } from '../../../../server/core/finish/finish.ts';
import type { MaterialJson, TextureInfoJson } from '../../../../server/gltf/document/json.ts';
import { addPart, addTexture, createDocument, makeNoisePng } from '../../../support/build-model.ts';
import { materialsByVariant, readImage } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { createRandom } from '../../../support/random.ts';
import { createSplicer, RED, type Spliced, type SpliceOptions } from '../../../support/splice.ts';
import { expectSplicePromises } from '../../../support/splice-promises.ts';

const splicer = createSplicer();
const io = createIo();
afterAll(() => splicer.close());

/** A model of one or more square parts; `size` is the edge in metres, over which UVs run from 0 to 1. */
async function makeModel(names: readonly string[] = ['part'], size = 1, uv = true): Promise<Uint8Array> {
  const document = createDocument();
  for (const name of names) addPart(document, { name, material: document.createMaterial(name), size, uv });
  return (await io).writeBinary(document);
}

const single = (finishes: readonly Finish[], more: Partial<SpliceOptions> = {}): SpliceOptions => ({
  finishes,
  rows: finishes.map(({ finish }) => ({ part: finish })),
  ...more,
});

const worn = ({ output }: Spliced, variant: number): MaterialJson =>
  output.json.materials![materialsByVariant(output, 0, 0)[variant]!]!;

/** IEC 61966-2-1 with the constants of W3C css-color-4 conversions.js 064b981, written out here once more. */
function decode(hex: string): number[] {
  return [1, 3, 5].map((at) => {
    const v = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  });
}

describe('the material of a finish', () => {
  // baseColorFactor is linear: glTF 2.0, Specification.adoc (KhronosGroup/glTF 77b44be), Metallic-Roughness Material
  it('has the linear value of the hex, rounded and not cut, to 1e-6', async () => {
    const random = createRandom(3);
    const hexes = ['#ffffff', '#000000', '#407ce7', '#010203', '#7f8081'].concat(
      Array.from({ length: 60 }, () => `#${random.whole(0x1000000).toString(16).padStart(6, '0')}`),
    );
    const finishes = hexes.map((hex, i) => makeFinish(`F${i}`, { colour: { hex } }));
    const spliced = await splicer.splice(await makeModel(), single(finishes));
    expectSplicePromises(spliced);
    hexes.forEach((hex, i) => {
      const factor = worn(spliced, i).pbrMetallicRoughness!.baseColorFactor ?? [1, 1, 1, 1];
      decode(hex).forEach((value, channel) => {
        expect(Math.abs(factor[channel]! - value)).toBeLessThanOrEqual(1e-6);
      });
      expect(factor[3]).toBe(1);
    });
  });

  it('states roughness and metalness, whose defaults in glTF are 1', async () => {
    const spliced = await splicer.splice(
      await makeModel(),
      single([
        makeFinish('MATT', { roughness: 0.8, metal: false }),
        makeFinish('STEEL', { family: 'bare-metal', roughness: 0.25, metal: true }),
      ]),
    );
    expect(worn(spliced, 0).pbrMetallicRoughness).toMatchObject({ roughnessFactor: 0.8, metallicFactor: 0 });
    const steel = worn(spliced, 1).pbrMetallicRoughness!;
    expect([steel.roughnessFactor, steel.metallicFactor ?? 1]).toEqual([0.25, 1]);
  });

  // property names: KhronosGroup/glTF 77b44be, extensions/2.0/Khronos/KHR_materials_clearcoat, _sheen, _transmission, _ior
  it('writes coat, sheen, transmission and index of refraction by their extensions, and declares them', async () => {
    const spliced = await splicer.splice(
      await makeModel(),
      single([
        makeFinish('COAT', { clearcoat: 0.7, clearcoatRoughness: 0.1 }),
        makeFinish('WOOL', { family: 'textile', sheen: { colour: '#407ce7', roughness: 0.4 } }),
        makeFinish('GLASS', { family: 'glass', transmission: 0.9, ior: 1.52 }),
        makeFinish('PLAIN', { family: 'paint' }),
      ]),
    );
    expect(worn(spliced, 0).extensions?.KHR_materials_clearcoat).toEqual({
      clearcoatFactor: 0.7,
      clearcoatRoughnessFactor: 0.1,
    });
    const sheen = worn(spliced, 1).extensions?.KHR_materials_sheen as { sheenColorFactor: number[] };
    expect(sheen).toMatchObject({ sheenRoughnessFactor: 0.4 });
    decode('#407ce7').forEach((value, channel) => {
      expect(Math.abs(sheen.sheenColorFactor[channel]! - value)).toBeLessThanOrEqual(1e-6);
    });
    expect(worn(spliced, 2).extensions).toMatchObject({
      KHR_materials_transmission: { transmissionFactor: 0.9 },
      KHR_materials_ior: { ior: 1.52 },
    });
    expect(worn(spliced, 3).extensions ?? {}).toEqual({});
    for (const name of ['clearcoat', 'sheen', 'transmission', 'ior']) {
      expect(spliced.output.json.extensionsUsed).toContain(`KHR_materials_${name}`);
    }
  });
});

describe('the maps of a finish', () => {
  const tiled = (finish: string, widthMm: number, heightMm: number, more: Partial<Finish> = {}) =>
    makeFinish(finish, { family: 'wood', maps: { colour: 'grain' }, tile: { widthMm, heightMm }, ...more });
  const grain = makeNoisePng(60, 16);
  const maps = async () => ({ grain: { bytes: await grain, mimeType: 'image/png' } });

  const scaleOf = (info: TextureInfoJson | undefined): unknown =>
    (info?.extensions?.KHR_texture_transform as { scale?: number[] } | undefined)?.scale ?? [1, 1];

  // one repeat at its true size: the extension's scale is how often it repeats over one UV unit
  // (KhronosGroup/glTF 77b44be, extensions/2.0/Khronos/KHR_texture_transform/README.md); the part is `size` metres per UV
  it.each([
    [1, 250, 500, [4, 2]],
    [0.5, 250, 500, [2, 1]],
    [0.2, 100, 100, [2, 2]],
    [1, 1000, 1000, [1, 1]],
    [3, 120, 80, [25, 37.5]],
  ])('on a part of %d m, a repeat of %d × %d mm has the scale %j', async (size, widthMm, heightMm, scale) => {
    const spliced = await splicer.splice(
      await makeModel(['part'], size),
      single([tiled('OAK', widthMm, heightMm)], { maps: await maps() }),
    );
    expectSplicePromises(spliced);
    const got = scaleOf(worn(spliced, 0).pbrMetallicRoughness!.baseColorTexture) as number[];
    // the sheet is a little bumpy, which makes its surface a little larger than its outline
    got.forEach((value, i) => {
      expect(Math.abs(value / scale[i]! - 1)).toBeLessThan(0.002);
    });
  });

  it('lies on no part without UVs, and that is told', async () => {
    const spliced = await splicer.splice(
      await makeModel(['part'], 1, false),
      single([tiled('OAK', 200, 200)], { maps: await maps() }),
    );
    expect(worn(spliced, 0).pbrMetallicRoughness!.baseColorTexture).toBeUndefined();
    expect(spliced.output.json.images ?? []).toEqual([]);
    expect(spliced.written.findings.map(({ code }) => code)).toEqual(['missing-uv']);
  });

  it('is in the file once, however many finishes, slots and variants show it', async () => {
    const names = ['part', 'back', 'arms'];
    const finishes = Array.from({ length: 6 }, (_, i) =>
      tiled(`OAK${i}`, 200 + i, 200, {
        colour: { hex: `#8${i}7${i}6${i}` },
        maps: { colour: 'grain', normal: 'pores' },
      }),
    );
    const spliced = await splicer.splice(await makeModel(names), {
      finishes,
      rows: finishes.map(({ finish }) => Object.fromEntries(names.map((name) => [name, finish]))),
      maps: { ...(await maps()), pores: { bytes: await makeNoisePng(61, 16), mimeType: 'image/png' } },
    });
    expectSplicePromises(spliced);
    expect(spliced.output.json.images).toHaveLength(2);
    expect(readImage(spliced.output, 0)).toEqual(Buffer.from(await grain));
    expect(spliced.written.addedImageBytes).toBe(
      spliced.output.json.images!.reduce((s, _, i) => s + readImage(spliced.output, i)!.length, 0),
    );
  });

  it('is not written again when a fixed part of the model shows the same image', async () => {
    const document = createDocument();
    const texture = await addTexture(document, 'plank', 60, 16);
    addPart(document, { name: 'fixed', material: document.createMaterial('fixed').setBaseColorTexture(texture) });
    addPart(document, { name: 'part', material: document.createMaterial('part') });
    const spliced = await splicer.splice(
      await (await io).writeBinary(document),
      single([tiled('OAK', 200, 200)], { maps: await maps(), changeSlot: ({ slot }) => ({ fixed: slot === 'fixed' }) }),
    );
    expectSplicePromises(spliced);
  });
});

describe('the weight of variants', () => {
  it('a variant that differs by a factor only costs less than 1 KB', async () => {
    const names = ['part', 'back', 'arms', 'legs'];
    const model = await makeModel(names);
    const finishes = Array.from({ length: 51 }, (_, i) =>
      makeFinish(`FINISH-${i}`, { colour: { hex: `#${(0x204060 + i * 4099).toString(16)}` } }),
    );
    const rows = finishes.map(({ finish }) => Object.fromEntries(names.map((name) => [name, finish])));
    const one = await splicer.splice(model, { finishes, rows: rows.slice(0, 1) });
    const many = await splicer.splice(model, { finishes, rows });
    expectSplicePromises(many);
    expect((many.file.length - one.file.length) / 50).toBeLessThan(1024);
  });

  it('one material per distinct result, however many variants there are', async () => {
    const finishes = [RED, makeFinish('TEAL'), makeFinish('SAND')];
    const rows = Array.from({ length: 300 }, (_, i) => ({ part: finishes[i % 3]!.finish }));
    const spliced = await splicer.splice(await makeModel(), { finishes, rows });
    expectSplicePromises(spliced);
    expect(spliced.output.json.materials).toHaveLength(3);
  });
});
