import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { linearToLab } from '../../../server/core/colour/lab.ts';
import { hexToLinear } from '../../../server/core/colour/srgb.ts';
import { measureImage } from '../../../server/gltf/survey/images/survey-images.ts';
import { readPixels } from '../../../server/images/image-codec.ts';
import { measurePixels, toLab } from '../../../server/images/measure-pixels.ts';
import { KTX2 } from '../../support/ktx2.ts';
import { createRandom } from '../../support/random.ts';

type Texel = readonly number[];

/** An image of which every texel is said, as lossless PNG. */
async function paint(sizePx: number, texel: (x: number, y: number) => Texel): Promise<Uint8Array> {
  const codes: number[] = [];
  for (let y = 0; y < sizePx; y++) for (let x = 0; x < sizePx; x++) codes.push(...texel(x, y));
  const channels = texel(0, 0).length as 1 | 2 | 3 | 4;
  const raw = { width: sizePx, height: sizePx, channels };
  const reader = sharp(Buffer.from(codes), { raw });
  return (channels < 3 ? reader.toColourspace('b-w') : reader).png().toBuffer();
}

const measure = async (image: Uint8Array) => measurePixels(await readPixels(image));

describe('means of an image', () => {
  it('reads colours as glTF 2.0 has it in its worked example of an sRGB texel', async () => {
    // KhronosGroup/glTF 77b44be, Specification.adoc, texel example: [64, 124, 231] is [0.05126946, 0.20155625, 0.79910274]
    const { linearMean, colour, constant, channels } = await measure(await paint(8, () => [64, 124, 231]));
    [0.05126946, 0.20155625, 0.79910274].forEach((value, i) => {
      expect(linearMean[i]).toBeCloseTo(value, 8);
    });
    expect(colour).toEqual({ hex: '#407ce7', deltaE: expect.closeTo(0, 6) });
    expect(constant).toBe(true);
    expect(channels.map(({ spread }) => spread)).toEqual([0, 0, 0]);
  });

  it('means light and not codes: half black and half white is 0.5 in linear light, code 188', async () => {
    // IEC 61966-2-1: encoding 0.5 gives 0.735, times 255 rounded 188
    const { linearMean, channels, colour } = await measure(
      await paint(16, (x) => (x % 2 ? [255, 255, 255] : [0, 0, 0])),
    );
    expect(linearMean).toEqual([0.5, 0.5, 0.5]);
    expect(channels[0]).toEqual({ mean: 0.5, min: 0, max: 1, spread: 0.5 });
    expect(colour.hex).toBe('#bcbcbc');
    // CIE 15: L* of Y = 0.5 is 76.07, so white is 23.93 and black 76.07 away, on the mean 50
    expect(colour.deltaE).toBeCloseTo(50, 3);
  });

  it('reads grey images as three channels alike, with their alpha', async () => {
    const grey = await measure(await paint(8, (x) => [x * 30]));
    expect(grey.channels).toHaveLength(3);
    expect(grey.channels[1]).toEqual(grey.channels[0]);
    const { channels, hasAlpha } = await measure(await paint(8, (_x, y) => [120, y === 0 ? 0 : 255]));
    expect(channels).toHaveLength(4);
    expect(channels[3]).toMatchObject({ mean: 7 / 8, min: 0, max: 1 });
    expect(hasAlpha).toBe(true);
  });

  it('takes an alpha channel that is opaque all over for none', async () => {
    expect(await measure(await paint(4, () => [1, 2, 3, 255]))).toMatchObject({ hasAlpha: false, constant: true });
  });

  it('passes profiles over, as glTF 2.0 §3.8.3 (Images) asks', async () => {
    const plain = await paint(8, () => [200, 100, 50]);
    const profiled = await sharp(plain).withIccProfile('p3').png().toBuffer();
    const { data } = await sharp(profiled, { ignoreIcc: true }).raw().toBuffer({ resolveWithObject: true });
    const { channels } = await measure(profiled);
    expect(channels.map(({ mean }) => Math.round(mean * 255))).toEqual([...data.subarray(0, 3)]);
    expect([...data.subarray(0, 3)]).not.toEqual([200, 100, 50]);
  });
});

describe('what an image could be', () => {
  it('is constant within two codes, alpha apart', async () => {
    const wobble = (codes: number) => paint(8, (x, y) => [100 + (x === 3 && y === 3 ? codes : 0), 50, 25, x * 20]);
    expect((await measure(await wobble(2))).constant).toBe(true);
    expect((await measure(await wobble(3))).constant).toBe(false);
  });

  it('is a normal map when its texels are of unit length and point out of the surface', async () => {
    // flat blue of common practice, [128, 128, 255]
    const flat = await measure(await paint(8, () => [128, 128, 255]));
    expect(flat.normal).toEqual({ unit: 1, outward: 1 });
    const tilted = await measure(
      await paint(8, (x, y) => {
        const [tilt, turn] = [x / 8, (y / 8) * 2 * Math.PI];
        const normal = [Math.sin(tilt) * Math.cos(turn), Math.sin(tilt) * Math.sin(turn), Math.cos(tilt)];
        return normal.map((value) => Math.round(((value + 1) / 2) * 255));
      }),
    );
    expect(tilted.normal).toEqual({ unit: 1, outward: 1 });
    const quarterInward = await measure(await paint(8, (x) => (x < 2 ? [128, 128, 0] : [128, 128, 255])));
    expect(quarterInward.normal).toEqual({ unit: 1, outward: 0.75 });
    // mid grey decodes to a vector of almost no length
    expect((await measure(await paint(8, () => [128, 128, 128]))).normal.unit).toBe(0);
    // black or transparent between the islands of an atlas: there is no normal of that code (glTF 2.0 §3.9.3)
    const islands = await measure(await paint(8, (x) => (x < 4 ? [0, 0, 0] : [128, 128, 255])));
    expect(islands.normal).toEqual({ unit: 1, outward: 1 });
    const clear = await measure(await paint(8, (x) => (x < 4 ? [90, 90, 90, 0] : [128, 128, 255, 255])));
    expect(clear.normal).toEqual({ unit: 1, outward: 1 });
    expect((await measure(await paint(8, () => [0, 0, 0]))).normal).toEqual({ unit: 0, outward: 0 });
  });
});

describe('the spread of colour', () => {
  it('uses the same Lab as the core, to 1e-9', () => {
    const random = createRandom(5);
    const hexes = Array.from({ length: 200 }, () => `#${random.whole(0x1000000).toString(16).padStart(6, '0')}`);
    for (const hex of ['#000000', '#ffffff', ...hexes]) {
      const [want, got] = [linearToLab(hexToLinear(hex)), toLab(hexToLinear(hex))];
      for (const i of [0, 1, 2]) expect(Math.abs(want[i]! - got[i]!)).toBeLessThan(1e-9);
    }
  });

  it('is the same whether all texels are looked at or a share of them, to one per cent', async () => {
    const pattern = (sizePx: number) => paint(sizePx, (x, y) => [(x % 2) * 200, (y % 2) * 200, 60]);
    const all = await measure(await pattern(128));
    const some = await measure(await pattern(600));
    expect(some.colour.deltaE / all.colour.deltaE).toBeCloseTo(1, 2);
  });
});

describe('images that are not read', () => {
  it('decodes KTX2 and AVIF, which glTF takes by extensions, and says nothing of what is in them', async () => {
    const avif = await sharp({ create: { width: 16, height: 16, channels: 3, background: '#5ac53a' } })
      .avif()
      .toBuffer();
    for (const bytes of [...Object.values(KTX2), avif]) {
      const nothing = { content: null, undecodable: null, damaged: false, jpegQuality: null };
      expect(await measureImage(bytes)).toEqual(nothing);
      expect(await measureImage(bytes.subarray(0, bytes.length - 20))).toMatchObject({ damaged: true });
    }
  });

  it('says that a CMYK image is one', async () => {
    const image = sharp({ create: { width: 8, height: 8, channels: 3, background: '#5ac53a' } });
    const { content, undecodable } = await measureImage(await image.toColourspace('cmyk').jpeg().toBuffer());
    expect(content).toBeNull();
    expect(undecodable).toContain('CMYK');
  });

  it('says why a damaged one cannot be read', async () => {
    const whole = await sharp({ create: { width: 64, height: 64, channels: 3, background: '#804020' } })
      .jpeg()
      .toBuffer();
    const cut = await measureImage(whole.subarray(0, whole.length - 40));
    expect(cut.content).toBeNull();
    expect(cut.undecodable).toMatch(/\w/);
    expect((await measureImage(Buffer.from('<svg/>'))).undecodable).toMatch(/no image format/);
    expect((await measureImage(null)).undecodable).toMatch(/not in the file/);
    expect((await measureImage(whole)).undecodable).toBeNull();
  });

  it('thins out what is larger than 2048 px and keeps its facts', async () => {
    const large = await sharp({ create: { width: 3000, height: 1000, channels: 3, background: '#407ce7' } })
      .composite([
        { input: { create: { width: 1500, height: 1000, channels: 3, background: '#000000' } }, left: 0, top: 0 },
      ])
      .png()
      .toBuffer();
    const { content } = await measureImage(large);
    expect(content!.channels[2]).toMatchObject({ min: 0, max: 231 / 255 });
    expect(content!.linearMean[2]).toBeCloseTo(0.79910274 / 2, 3);
  });
});
