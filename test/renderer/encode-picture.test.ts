import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { encodeFile, encodePicture, makeChip } from '../../renderer/encode-picture.ts';
import type { SetFormat } from '../../server/core/picture/picture-set.ts';

const decode = async (bytes: Uint8Array) => sharp(bytes).ensureAlpha().raw().toBuffer();

/** Every alpha and a few colours. The colour of fully transparent pixels does not matter. */
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

  it('has a white background in JPEG, with colour in every pixel', async () => {
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

// Read back with sharp 0.35 (libvips). Where the file states a field's position, the file's own bytes are compared.

/** A transparent gradient, or an opaque one. */
function makePicture(alpha: boolean) {
  const [widthPx, heightPx] = [64, 32];
  const rgba = new Uint8Array(widthPx * heightPx * 4);
  for (let i = 0; i < widthPx * heightPx; i++) {
    const [x, y] = [i % widthPx, Math.floor(i / widthPx)];
    rgba.set([x * 4, y * 8, 128, alpha ? Math.min(255, x * 4) : 255], i * 4);
  }
  return { widthPx, heightPx, rgba };
}

describe.each<SetFormat>(['png', 'webp', 'jpg', 'tiff'])('%s', (format) => {
  it('has the profile, the resolution and the packet, and the same bytes each time', async () => {
    const xmp =
      '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"></rdf:RDF></x:xmpmeta>';
    const options = { format, ppi: 300, xmp };
    const bytes = await encodeFile(makePicture(true), options);
    const { icc, density, xmpAsString, width, height } = await sharp(bytes).metadata();
    expect([width, height]).toEqual([64, 32]);
    // An ICC profile has its signature at byte 36 (ICC.1:2022 §7.2.9), and the colour space of its data at 16.
    expect(icc!.subarray(36, 40).toString('latin1')).toBe('acsp');
    expect(icc!.subarray(16, 20).toString('latin1')).toBe('RGB ');
    expect(xmpAsString).toContain('adobe:ns:meta/');
    // WebP has no field for it.
    if (format !== 'webp') expect(density).toBe(300);
    expect(Buffer.from(bytes).equals(Buffer.from(await encodeFile(makePicture(true), options)))).toBe(true);
  });

  it('keeps alpha if the format has it, and has none if no pixel is transparent', async () => {
    const seen = await sharp(await encodeFile(makePicture(true), { format })).metadata();
    expect(seen.hasAlpha).toBe(format !== 'jpg');
    expect((await sharp(await encodeFile(makePicture(false), { format })).metadata()).hasAlpha).toBe(false);
  });
});

it.each<SetFormat>(['png', 'tiff'])('%s returns every pixel unchanged', async (format) => {
  const picture = makePicture(true);
  const bytes = await encodeFile(picture, { format, ppi: 300 });
  const { data } = await sharp(bytes).raw().toBuffer({ resolveWithObject: true });
  expect(Buffer.from(data).equals(Buffer.from(picture.rgba))).toBe(true);
});

it('has its own background, and lossless WebP keeps the colour to the level', async () => {
  const half = { widthPx: 2, heightPx: 1, rgba: Uint8Array.from([200, 100, 50, 255, 200, 100, 50, 0]) };
  for (const encoding of [{ format: 'png' }, { format: 'tiff' }, { format: 'webp', lossless: true }] as const) {
    const bytes = await encodeFile(half, { ...encoding, ground: '#2f5d73' });
    const { data, info } = await sharp(bytes).raw().toBuffer({ resolveWithObject: true });
    expect([info.channels, ...data], encoding.format).toEqual([3, 200, 100, 50, 0x2f, 0x5d, 0x73]);
  }
});
