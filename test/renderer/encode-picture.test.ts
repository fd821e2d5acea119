import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { encodePicture } from '../../renderer/encode-picture.ts';
import { makeChip } from '../../renderer/make-chip.ts';

const decode = async (bytes: Uint8Array) => sharp(bytes).ensureAlpha().raw().toBuffer();

/** Every alpha, a few colours; colour where nothing covers is of no account. */
const wedge = (() => {
  const rgba = new Uint8Array(64 * 16 * 4);
  for (let at = 0; at < 64 * 16; at++)
    rgba.set([at % 256, 200, 255 - (at % 256), Math.min(255, 1 + (at >> 2))], at * 4);
  return { widthPx: 64, heightPx: 16, rgba };
})();

describe('encoding', () => {
  it('keeps every level and every alpha in PNG', async () => {
    expect(new Uint8Array(await decode(await encodePicture(wedge, 'png')))).toEqual(wedge.rgba);
  });

  it('keeps a chip exact in PNG and in lossless WebP', async () => {
    const chip = makeChip('#2f5d73', 32);
    for (const bytes of [await encodePicture(chip, 'png'), await encodePicture(chip, 'webp', { lossless: true })]) {
      expect(new Uint8Array(await decode(bytes))).toEqual(chip.rgba);
    }
  });

  it('keeps alpha exact in lossy WebP', async () => {
    const decoded = await decode(await encodePicture(wedge, 'webp'));
    for (let at = 3; at < wedge.rgba.length; at += 4) expect(decoded[at]).toBe(wedge.rgba[at]);
  });

  it('stands on white in JPEG, with colour in every pixel', async () => {
    const clear = { widthPx: 16, heightPx: 16, rgba: new Uint8Array(16 * 16 * 4) };
    const bytes = await encodePicture(clear, 'jpg');
    expect([...(await decode(bytes)).subarray(0, 3)]).toEqual([255, 255, 255]);
    expect((await sharp(bytes).metadata()).chromaSubsampling).toBe('4:4:4');
  });

  it('gives the same bytes for the same pixels', async () => {
    for (const format of ['png', 'webp', 'jpg'] as const) {
      expect(await encodePicture(wedge, format)).toEqual(await encodePicture(wedge, format));
    }
  });

  it('refuses a chip without a colour', () => {
    expect(() => makeChip('blue', 8)).toThrow(/#rrggbb/);
  });
});
