import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { toUvMap, turnNormals } from '../../../server/core/delivery/uv-map.ts';
import { remakeMap } from '../../../server/images/remake-map.ts';
import { ADOBE_RGB, DISPLAY_P3, makeRgbProfile } from '../../support/icc.ts';
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
