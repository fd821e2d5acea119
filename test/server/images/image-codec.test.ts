import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { readCodes, readPixels } from '../../../server/images/image-codec.ts';
import { ADOBE_RGB, makeGamma, makeGreyProfile, makeRgbProfile } from '../../support/icc.ts';
import { expectRefusal } from '../../support/refusal.ts';
import { words, writePng } from '../../support/write-png.ts';

const all8 = Array.from({ length: 256 }, (_, code) => code);
const all16 = Array.from({ length: 65536 }, (_, code) => code);
const codes = async (image: Uint8Array, sizePx?: number) => [...(await readPixels(image, sizePx)).data];

describe('codes of an image', () => {
  it('stay what they are, whatever the file says of colour (glTF 2.0 §3.8.3, Images)', async () => {
    const texel = { type: 'rgb', bits: 8, widthPx: 1, codes: [90, 197, 58] } as const;
    const adobe = writePng({ ...texel, icc: makeRgbProfile(ADOBE_RGB) });
    // PNG, third edition, §11.3.2: gamma 1.0 is 100000; primaries of ProPhoto; cICP 9/16 is BT.2100 PQ
    const gamma = writePng({ ...texel, chunks: { gAMA: [0, 1, 0x86, 0xa0] } });
    const cicp = writePng({ ...texel, chunks: { cICP: [9, 16, 0, 1] } });
    for (const image of [writePng(texel), adobe, gamma, cicp]) expect(await codes(image)).toEqual([90, 197, 58]);
    const webp = await sharp(adobe, { ignoreIcc: true }).keepIccProfile().webp({ lossless: true }).toBuffer();
    expect((await sharp(webp).metadata()).hasProfile).toBe(true);
    expect(await codes(webp)).toEqual([90, 197, 58]);
  });

  it('of grey become three that are equal, all 256 of them, with and without a profile', async () => {
    const grey = { type: 'grey', bits: 8, widthPx: 256, codes: all8 } as const;
    const expected = all8.flatMap((code) => [code, code, code]);
    expect(await codes(writePng(grey))).toEqual(expected);
    expect(await codes(writePng({ ...grey, icc: makeGreyProfile('Dot gain', makeGamma(1.75)) }))).toEqual(expected);
  });

  it('of 16 bits are rounded to the nearest of 8 bits, all 65536 of them', async () => {
    // PNG, third edition, §13.12: floor(code × 255 / 65535 + 0.5); dropping the lower byte makes 255 of 65280 and 0 of 255
    const rounded = all16.map((code) => Math.floor((code * 255) / 65535 + 0.5));
    expect(rounded[255]).toBe(1);
    const grey = await readPixels(writePng({ type: 'grey', bits: 16, widthPx: 65536, codes: all16 }));
    expect(grey.channels).toBe(3);
    const wrong = all16.filter((code) => [0, 1, 2].some((c) => grey.data[code * 3 + c] !== rounded[code]));
    expect(wrong).toEqual([]);
    const rgba = all16.flatMap((code) => [code, 65535 - code, code, 65535 - code]);
    const four = await readPixels(writePng({ type: 'rgba', bits: 16, widthPx: 65536, codes: rgba }));
    expect(four.channels).toBe(4);
    const off = rgba.filter((code, i) => four.data[i] !== rounded[code]);
    expect(off).toEqual([]);
  });

  it('of palettes, transparent colours and grey with alpha are resolved', async () => {
    const chunks = { PLTE: [1, 2, 3, 200, 100, 50], tRNS: [128] };
    expect(await codes(writePng({ type: 'palette', bits: 8, widthPx: 2, codes: [0, 1], chunks }))).toEqual([
      1, 2, 3, 128, 200, 100, 50, 255,
    ]);
    const key = { tRNS: words(4, 5, 6) };
    expect(await codes(writePng({ type: 'rgb', bits: 8, widthPx: 2, codes: [1, 2, 3, 4, 5, 6], chunks: key }))).toEqual(
      [1, 2, 3, 255, 4, 5, 6, 0],
    );
    const deep = { type: 'grey', bits: 16, widthPx: 2, codes: [128, 33023], chunks: { tRNS: words(33023) } } as const;
    expect(await codes(writePng(deep))).toEqual([0, 0, 0, 255, 128, 128, 128, 0]);
    expect(await codes(writePng({ type: 'greyAlpha', bits: 8, widthPx: 1, codes: [10, 100] }))).toEqual([
      10, 10, 10, 100,
    ]);
  });

  it('keep their rows where EXIF would turn them', async () => {
    const pixels = Buffer.from([255, 255, 255, 0, 0, 0]);
    const image = sharp(pixels, { raw: { width: 2, height: 1, channels: 3 } });
    const jpeg = await image.withMetadata({ orientation: 6 }).jpeg({ quality: 100 }).toBuffer();
    expect(await readPixels(jpeg)).toMatchObject({ widthPx: 2, heightPx: 1 });
  });

  it('of CMYK are refused', async () => {
    const cmyk = await sharp({ create: { width: 8, height: 8, channels: 3, background: '#5ac53a' } })
      .toColourspace('cmyk')
      .jpeg()
      .toBuffer();
    await expectRefusal(() => readPixels(cmyk), 'image-colour-model');
    await expectRefusal(() => readCodes(cmyk), 'image-colour-model');
  });
});

describe('an image that is thinned out', () => {
  it('has texels of the image, those that are transparent with their colour', async () => {
    const texels = [
      [200, 100, 50, 0],
      [10, 220, 30, 3],
      [90, 197, 58, 255],
    ] as const;
    const flat = Array.from({ length: 64 * 64 }, (_, i) => texels[(i + (i >> 6)) % 3]!).flat();
    const thin = await readPixels(writePng({ type: 'rgba', bits: 8, widthPx: 64, codes: flat }), 20);
    expect(thin).toMatchObject({ widthPx: 20, heightPx: 20, channels: 4 });
    const seen = new Set<string>();
    for (let i = 0; i < thin.data.length; i += 4) seen.add([...thin.data.subarray(i, i + 4)].join());
    expect([...seen].sort()).toEqual(texels.map((texel) => texel.join()).sort());
  });

  it('keeps its shape, and stays whole when it is small enough', async () => {
    const image = writePng({ type: 'grey', bits: 8, widthPx: 256, codes: [...all8, ...all8] });
    expect(await readPixels(image, 64)).toMatchObject({ widthPx: 64, heightPx: 1 });
    expect(await readPixels(image, 256)).toMatchObject({ widthPx: 256, heightPx: 2 });
  });
});

describe('codes as the file has them', () => {
  it('keep 16 bits, and say how many there are', async () => {
    const deep = await readCodes(writePng({ type: 'grey', bits: 16, widthPx: 3, codes: [0, 33023, 65535] }));
    expect(deep).toMatchObject({ highest: 65535, channels: 3 });
    expect([...deep.data]).toEqual([0, 33023, 65535].flatMap((code) => [code, code, code]));
    const plain = await readCodes(writePng({ type: 'rgb', bits: 8, widthPx: 1, codes: [1, 2, 3] }));
    expect(plain).toMatchObject({ highest: 255, channels: 3 });
    expect([...plain.data]).toEqual([1, 2, 3]);
  });
});
