import { differenceCiede2000 } from 'culori';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { toUvMap, turnNormals, UNTURNED } from '../../../server/core/delivery/repeat-transform.ts';
import { levelMap, makeLevelTables } from '../../../server/core/finish/level-map.ts';
import { type Pixels, readPixels } from '../../../server/images/image-codec.ts';
import { countCodes } from '../../../server/images/measure-pixels.ts';
import { levelImage, remakeMap, turnNormalMap } from '../../../server/images/remake-map.ts';
import { ADOBE_RGB, DISPLAY_P3, makeRgbProfile } from '../../support/icc.ts';
import { makeNormalPng, normalOf } from '../../support/make-normals.ts';
import { createRandom } from '../../support/random.ts';
import { expectRefusal } from '../../support/refusal.ts';
import { writePng } from '../../support/write-png.ts';

async function decode(png: Uint8Array | null) {
  const { data, info } = await sharp(png!).raw().toBuffer({ resolveWithObject: true });
  expect(await sharp(png!).metadata()).toMatchObject({ format: 'png', depth: 'uchar', hasProfile: false });
  return { codes: [...data], channels: info.channels };
}

const rgb = { type: 'rgb', bits: 8, widthPx: 2, codes: [90, 197, 58, 10, 20, 30] } as const;

describe('a roughness map for a metal', () => {
  it.each([
    ['Adobe RGB (1998)', makeRgbProfile(ADOBE_RGB)],
    ['Display P3', makeRgbProfile(DISPLAY_P3)],
  ])('keeps red and green, whatever its profile %s says, and has full metalness in blue', async (_, icc) => {
    // glTF 2.0 §3.9.2: roughness in green, metalness in blue; §3.8.3: profiles are ignored
    const made = await decode(await remakeMap(writePng({ ...rgb, icc }), 'for-metal'));
    expect(made).toEqual({ codes: [90, 197, 255, 10, 20, 255], channels: 3 });
  });

  it('takes grey and 16 bits', async () => {
    const codes = [0, 128, 33023, 65535];
    const made = await decode(await remakeMap(writePng({ type: 'grey', bits: 16, widthPx: 4, codes }), 'for-metal'));
    // PNG, third edition, §13.12: 33023 × 255 / 65535 is 128.49
    expect(made.codes).toEqual([0, 0, 255, 0, 0, 255, 128, 128, 255, 255, 255, 255]);
  });
});

describe('the alpha of a colour map', () => {
  it('stays code for code under white, whatever profile the map has', async () => {
    const codes = [90, 197, 58, 0, 10, 20, 30, 77, 1, 2, 3, 255];
    const map = writePng({ type: 'rgba', bits: 8, widthPx: 3, codes, icc: makeRgbProfile(ADOBE_RGB) });
    const made = await decode(await remakeMap(map, 'alpha-under-white'));
    expect(made).toEqual({ codes: [255, 255, 255, 0, 255, 255, 255, 77, 255, 255, 255, 255], channels: 4 });
  });

  it('is nothing to keep where all is opaque', async () => {
    expect(await remakeMap(writePng(rgb), 'alpha-under-white')).toBeNull();
    const opaque = writePng({ type: 'greyAlpha', bits: 8, widthPx: 2, codes: [9, 255, 10, 255] });
    expect(await remakeMap(opaque, 'alpha-under-white')).toBeNull();
  });
});

describe('other maps that are remade', () => {
  it('have 8 bits per channel and the same colours', async () => {
    const codes = [65535, 33023, 128, 65408, 0, 257];
    const made = await decode(await remakeMap(writePng({ ...rgb, bits: 16, codes }), 'eight-bit'));
    expect(made.codes).toEqual([255, 128, 0, 255, 0, 1]);
  });

  it('have their normals turned, not their profile followed', async () => {
    const half = turnNormals(toUvMap({ rotation: Math.PI }))!;
    const made = await decode(await remakeMap(writePng({ ...rgb, icc: makeRgbProfile(ADOBE_RGB) }), half));
    expect(made.codes).toEqual([165, 58, 58, 245, 235, 30]);
  });

  it('are the same bytes each time, and refused when they are CMYK', async () => {
    expect(await remakeMap(writePng(rgb), 'for-metal')).toEqual(await remakeMap(writePng(rgb), 'for-metal'));
    const cmyk = await sharp({ create: { width: 8, height: 8, channels: 3, background: '#5ac53a' } })
      .toColourspace('cmyk')
      .jpeg()
      .toBuffer();
    await expectRefusal(() => remakeMap(cmyk, 'for-metal'), 'image-colour-model');
  });
});

const SIDE_PX = 96;
const raw = { width: SIDE_PX, height: SIDE_PX } as const;

/** IEC 61966-2-1, decoding, written out here once more. */
const linear = (code: number) => {
  const value = code / 255;
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
};

/** A dark cloth with soft grain, as scanners see it. */
function makeScan(channels: 3 | 4): Buffer {
  const { next } = createRandom(3);
  const data = Buffer.alloc(SIDE_PX * SIDE_PX * channels);
  for (let i = 0; i < data.length; i += channels) {
    const texel = i / channels;
    const weave = 1 + 0.3 * Math.sin((texel % SIDE_PX) / 3) * Math.sin(texel / SIDE_PX / 3) + 0.1 * next();
    [70, 60, 52].forEach((code, c) => {
      data[i + c] = Math.round(code * weave);
    });
    if (channels === 4) data[i + 3] = texel % 2 === 0 ? 255 : 30;
  }
  return data;
}

/** Area mean of factor × map as sharp decodes it. */
async function meanOf(image: Uint8Array, factor: readonly number[]) {
  const { data, info } = await sharp(image).raw().toBuffer({ resolveWithObject: true });
  const sums = [0, 0, 0];
  for (let i = 0; i < data.length; i += info.channels) for (const c of [0, 1, 2]) sums[c]! += linear(data[i + c]!);
  const [r, g, b] = sums.map((sum, c) => (factor[c]! * sum) / (data.length / info.channels));
  return { mode: 'lrgb', r: r!, g: g!, b: b! };
}

describe('a colour map that is re-encoded', () => {
  it.each(['jpeg', 'png', 'webp'] as const)('from %s has the mean that was planned, by culori', async (format) => {
    const image = await sharp(makeScan(3), { raw: { ...raw, channels: 3 } })
      .toFormat(format, { quality: 90 })
      .toBuffer();
    const counts = countCodes(await readPixels(image));
    for (const target of [
      [0.25, 0.3, 0.2],
      [0.7, 0.62, 0.5],
    ] as const) {
      const { contrast, factor } = levelMap(target, counts);
      expect(contrast).not.toBeNull();
      const made = await levelImage(image, makeLevelTables(counts, contrast!));
      expect(made.mimeType).toBe(format === 'jpeg' ? 'image/jpeg' : 'image/png');
      const [r, g, b] = target;
      const off = differenceCiede2000()({ mode: 'lrgb', r, g, b }, await meanOf(made.bytes, factor));
      expect(off).toBeLessThan(0.2);
    }
  });

  it('keeps its alpha, and comes out the same each time', async () => {
    const image = await sharp(makeScan(4), { raw: { ...raw, channels: 4 } })
      .png()
      .toBuffer();
    const tables = makeLevelTables(countCodes(await readPixels(image)), 1);
    const { bytes } = await levelImage(image, tables);
    const alpha = await sharp(bytes).extractChannel('alpha').raw().toBuffer();
    expect([...alpha.subarray(0, 4)]).toEqual([255, 30, 255, 30]);
    expect((await levelImage(image, tables)).bytes).toEqual(bytes);
  });
});

// codes of a normal map: component × 127.5 + 127.5 (glTF 2.0, normalTexture: 0–255 stand for −1 to 1)

const rise = (u: number, v: number) => normalOf(0.5 * u, 0.3 - 0.4 * v);
const makeMap = async () => readPixels(await makeNormalPng([4, 8], rise));
const frameOf = (rotation: number) => turnNormals(toUvMap({ rotation }))!;

function read({ data, channels }: Pixels): number[][] {
  return Array.from({ length: data.length / channels }, (_, at) => [
    ...data.subarray(at * channels, at * channels + 3),
  ]);
}

describe('a map with its normals turned', () => {
  it.each([
    // a positive rotation of the coordinates shows the map turned clockwise: +x comes to lie along −y
    ['a quarter clockwise', Math.PI / 2, ([x, y, z]: number[]) => [y, 255 - x!, z]],
    ['by half a turn', Math.PI, ([x, y, z]: number[]) => [255 - x!, 255 - y!, z]],
    ['a quarter counter-clockwise', (3 * Math.PI) / 2, ([x, y, z]: number[]) => [255 - y!, x, z]],
  ] as const)('%s has the same normals, each in its place', async (_, rotation, expected) => {
    const map = await makeMap();
    expect(read(turnNormalMap(map, frameOf(rotation)))).toEqual(read(map).map(expected));
  });

  it('keeps their slope at any angle, to the rounding of a code', async () => {
    const map = await makeMap();
    const [before, after] = [read(map), read(turnNormalMap(map, frameOf(0.6)))];
    before.forEach((code, at) => {
      const slope = (of: readonly number[]) => Math.hypot(of[0]! - 127.5, of[1]! - 127.5);
      expect(Math.abs(slope(after[at]!) - slope(code))).toBeLessThanOrEqual(Math.SQRT1_2);
      expect(after[at]![2]).toBe(code[2]);
    });
  });

  it('is the map itself when nothing is turned', async () => {
    const map = await makeMap();
    expect(read(turnNormalMap(map, UNTURNED))).toEqual(read(map));
  });
});
