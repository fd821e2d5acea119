import { converter } from 'culori';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { convertToSrgb } from '../../../server/images/convert-to-srgb.ts';
import {
  ADOBE_RGB,
  DISPLAY_P3,
  decodeSrgb,
  makeGamma,
  makeGreyProfile,
  makeParametric,
  makeRgbProfile,
  makeTable,
  makeTableProfile,
  PROPHOTO,
  type RgbSpace,
  SRGB,
} from '../../support/icc.ts';
import { createRandom } from '../../support/random.ts';
import { type PngParts, writePng } from '../../support/write-png.ts';

const toRgb = converter('rgb');

/** sRGB codes by culori 4, not rounded and not cut. */
function byCulori(mode: 'a98' | 'p3' | 'prophoto', [r, g, b]: readonly number[], highest: number): number[] {
  const colour = toRgb({ mode, r: r! / highest, g: g! / highest, b: b! / highest });
  return [colour.r! * 255, colour.g! * 255, colour.b! * 255];
}

async function decode(png: Uint8Array) {
  const { data, info } = await sharp(png).raw().toBuffer({ resolveWithObject: true });
  expect(await sharp(png).metadata()).toMatchObject({ depth: 'uchar', hasProfile: false });
  return { data: [...data], channels: info.channels };
}

const random = createRandom(12);
const makeCodes = (highest: number) => Array.from({ length: 3 * 400 }, () => random.whole(highest + 1));
const makeImage = (codes: readonly number[], space: RgbSpace, more: Partial<PngParts> = {}) =>
  writePng({ type: 'rgb', bits: 8, widthPx: 20, codes, icc: makeRgbProfile(space), ...more });

describe('an image in another RGB space', () => {
  it.each([
    ['a98', ADOBE_RGB],
    ['p3', DISPLAY_P3],
    ['prophoto', PROPHOTO],
  ] as const)('in %s is converted as culori does it, to the rounding of a code', async (mode, space) => {
    for (const bits of [8, 16] as const) {
      const highest = 2 ** bits - 1;
      const codes = makeCodes(highest);
      const converted = await convertToSrgb(makeImage(codes, space, { bits }));
      expect(converted!.profile).toEqual({ name: space.name, isSrgb: false });
      const { data } = await decode(converted!.png!);
      let outside = 0;
      for (let i = 0; i < codes.length; i += 3) {
        const expected = byCulori(mode, codes.slice(i, i + 3), highest);
        if (expected.some((code) => code < -0.5 || code > 255.5)) outside++;
        expected.forEach((code, c) => {
          // 0.5 for the rounding to 8 bits, and a quarter for the numbers of the profile, which have 16 bits
          expect(Math.abs(data[i + c]! - Math.min(255, Math.max(0, code)))).toBeLessThanOrEqual(0.75);
        });
      }
      expect(Math.abs(converted!.outside! - outside / 400)).toBeLessThanOrEqual(0.01);
    }
  });

  it('comes out as the colour engine of the image library has it, to a code', async () => {
    const image = makeImage(makeCodes(255), ADOBE_RGB);
    const { data } = await decode((await convertToSrgb(image))!.png!);
    // lcms2, by libvips; 8 bits in and out
    const lcms = await sharp(image).toColourspace('srgb').raw().toBuffer();
    expect(data.filter((code, i) => Math.abs(code - lcms[i]!) > 1)).toEqual([]);
  });

  it('keeps its alpha, black and white', async () => {
    const codes = [0, 0, 0, 7, 255, 255, 255, 128];
    const converted = await convertToSrgb(makeImage(codes, ADOBE_RGB, { type: 'rgba', widthPx: 2 }));
    expect(await decode(converted!.png!)).toEqual({ data: codes, channels: 4 });
    expect(converted!.outside).toBe(0);
  });

  it('counts what lies outside sRGB', async () => {
    // full green of Adobe RGB is outside sRGB; its grey axis is inside
    const codes = [0, 255, 0, 128, 128, 128, 30, 30, 30, 200, 200, 200];
    expect((await convertToSrgb(makeImage(codes, ADOBE_RGB, { widthPx: 4 })))!.outside).toBe(0.25);
  });
});

describe('a profile that does what sRGB does', () => {
  it.each([
    ['a table of 1024 points', SRGB.curve],
    ['a table of 26 points', makeTable(26, decodeSrgb)],
    ['a parametric curve', DISPLAY_P3.curve],
  ])('with %s is taken for sRGB, whatever it is called', async (_, curve) => {
    const image = makeImage(makeCodes(255), { ...SRGB, name: 'c2', curve });
    expect(await convertToSrgb(image)).toEqual({ profile: { name: 'c2', isSrgb: true }, png: null, outside: null });
  });

  it('of the image library is taken for sRGB too, and one of gamma 2.2 is not, though it says so', async () => {
    const image = sharp({ create: { width: 4, height: 4, channels: 3, background: '#5ac53a' } });
    const own = await image.withIccProfile('srgb').png().toBuffer();
    expect((await convertToSrgb(own))!.profile.isSrgb).toBe(true);
    const gamma = makeImage([10, 10, 10], { ...SRGB, curve: makeGamma(2.2) }, { widthPx: 1 });
    const converted = await convertToSrgb(gamma);
    expect(converted!.profile).toEqual({ name: 'sRGB IEC61966-2.1', isSrgb: false });
    // (10/255)^2.2 is 0.00080 in light, which is code 2.7
    expect((await decode(converted!.png!)).data).toEqual([3, 3, 3]);
  });
});

describe('a grey image', () => {
  it('with a grey profile is converted by its curve, in 8 and 16 bits', async () => {
    for (const bits of [8, 16] as const) {
      const highest = 2 ** bits - 1;
      const codes = [0, 20, 100, 200, 255].map((code) => (code * highest) / 255);
      const icc = makeGreyProfile('Gray gamma 1.8', makeGamma(1.8));
      const converted = await convertToSrgb(writePng({ type: 'grey', bits, widthPx: 5, codes, icc }));
      // 1.8 as u8Fixed8 is 461/256; then IEC 61966-2-1 backwards
      const expected = [0, 20, 100, 200, 255].map((code) => {
        const light = (code / 255) ** (461 / 256);
        return Math.round(255 * (light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055));
      });
      expect((await decode(converted!.png!)).data).toEqual(expected.flatMap((code) => [code, code, code]));
      expect(converted).toMatchObject({ profile: { name: 'Gray gamma 1.8', isSrgb: false }, outside: 0 });
    }
  });

  it('with a profile of the sRGB curve needs nothing', async () => {
    const icc = makeGreyProfile('sGrey', makeParametric(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045));
    const converted = await convertToSrgb(writePng({ type: 'grey', bits: 8, widthPx: 2, codes: [9, 200], icc }));
    expect(converted).toEqual({ profile: { name: 'sGrey', isSrgb: true }, png: null, outside: null });
  });

  // cameras and scanners write the one profile into all their files
  it('with the RGB profile of sRGB needs nothing either, and with another RGB profile is left alone', async () => {
    const jpeg = await sharp(Buffer.from(makeCodes(255).slice(0, 400)), { raw: { width: 20, height: 20, channels: 1 } })
      .toColourspace('b-w')
      .jpeg()
      .toBuffer();
    const srgb = await convertToSrgb(embedInJpeg(jpeg, makeRgbProfile(SRGB)));
    expect(srgb).toEqual({ profile: { name: SRGB.name, isSrgb: true }, png: null, outside: null });
    const adobe = await convertToSrgb(embedInJpeg(jpeg, makeRgbProfile(ADOBE_RGB)));
    expect(adobe).toEqual({ profile: { name: ADOBE_RGB.name, isSrgb: false }, png: null, outside: null });
  });
});

describe('other profiles', () => {
  it('of tables are followed by the image library', async () => {
    const space = { ...ADOBE_RGB, name: 'Linear tables' };
    const codes = [60, 60, 60, 128, 120, 110, 255, 255, 255];
    const image = writePng({ type: 'rgb', bits: 8, widthPx: 3, codes, icc: makeTableProfile(space) });
    const converted = await convertToSrgb(image);
    expect(converted).toMatchObject({ profile: { name: 'Linear tables', isSrgb: false }, outside: null });
    const { data } = await decode(converted!.png!);
    // the tables say that codes are light in the primaries of Adobe RGB: culori takes it from XYZ
    const toXyz = converter('xyz65');
    for (let i = 0; i < codes.length; i += 3) {
      const [r, g, b] = codes.slice(i, i + 3).map((code) => (code / 255) ** (256 / 563));
      const colour = toRgb({ ...toXyz({ mode: 'a98', r: r!, g: g!, b: b! }), mode: 'xyz65' });
      [colour.r, colour.g, colour.b].forEach((value, c) => {
        expect(Math.abs(data[i + c]! - value! * 255)).toBeLessThanOrEqual(1.5);
      });
    }
  });

  it('that do not fit the image, or are damaged, change nothing', async () => {
    const grey = makeGreyProfile('Dot gain', makeGamma(1.75));
    const codes = makeCodes(255);
    for (const icc of [grey, makeRgbProfile(ADOBE_RGB).subarray(0, 200)]) {
      const jpeg = await sharp(Buffer.from(codes), { raw: { width: 20, height: 20, channels: 3 } })
        .jpeg()
        .toBuffer();
      const converted = await convertToSrgb(embedInJpeg(jpeg, icc));
      expect(converted).toMatchObject({ profile: { isSrgb: false }, png: null });
    }
  });

  it('are none where there is none, and gamma and primaries of a PNG do not count as one', async () => {
    const chunks = { gAMA: [0, 1, 0x86, 0xa0] };
    expect(await convertToSrgb(writePng({ type: 'rgb', bits: 8, widthPx: 1, codes: [1, 2, 3], chunks }))).toBeNull();
  });
});

/** Puts a profile into a JPEG, as one APP2 segment (ICC.1:2022 annex B.4). */
function embedInJpeg(jpeg: Buffer, icc: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from('ICC_PROFILE\0\x01\x01', 'latin1'), icc]);
  const head = Buffer.from([0xff, 0xe2, 0, 0]);
  head.writeUInt16BE(body.length + 2, 2);
  return Buffer.concat([jpeg.subarray(0, 2), head, body, jpeg.subarray(2)]);
}
