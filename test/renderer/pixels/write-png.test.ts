import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { writePng } from '../../../renderer/pixels/write-png.ts';
import { createRandom } from '../../support/random.ts';

// Read back by libpng (in sharp), which is independent of the writer.

const decode = async (bytes: Uint8Array) => new Uint8Array(await sharp(bytes).ensureAlpha().raw().toBuffer());

/** Flat runs, slopes and noise side by side, so that every way to write a pixel occurs. */
function makePicture(widthPx: number, heightPx: number, opaque: boolean) {
  const random = createRandom(7);
  const rgba = new Uint8Array(widthPx * heightPx * 4);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      const kind = Math.floor(x / 5) % 4;
      const pixel = [
        [0, 0, 0, 0],
        [255, 254, 1, 128],
        [x * 3, y * 5, x + y, 255 - x],
        [random.whole(256), random.whole(256), random.whole(256), random.whole(256)],
      ][kind]!;
      rgba.set(opaque ? [...pixel.slice(0, 3), 255] : pixel, (y * widthPx + x) * 4);
    }
  }
  return { widthPx, heightPx, rgba };
}

describe('a PNG', () => {
  it.each([
    [64, 48],
    [37, 3],
    [1, 9],
    [9, 1],
    [1, 1],
  ])('of %i × %i px keeps every level', async (widthPx, heightPx) => {
    for (const opaque of [true, false]) {
      const picture = makePicture(widthPx, heightPx, opaque);
      expect(await decode(writePng(picture))).toEqual(picture.rgba);
    }
  });

  it('is RGB if every pixel is opaque, else RGBA, 8 bits per channel, not interlaced', async () => {
    for (const opaque of [true, false]) {
      const seen = await sharp(writePng(makePicture(40, 30, opaque))).metadata();
      expect(seen).toMatchObject({
        format: 'png',
        width: 40,
        height: 30,
        channels: opaque ? 3 : 4,
        depth: 'uchar',
        isProgressive: false,
      });
    }
  });

  it('accepts pixels anywhere in memory, shared memory too', async () => {
    const { rgba, ...size } = makePicture(20, 10, false);
    const shifted = new Uint8Array(new SharedArrayBuffer(rgba.length + 3), 3);
    shifted.set(rgba);
    expect(writePng({ ...size, rgba: shifted })).toEqual(writePng({ ...size, rgba }));
  });

  it('has checksums that a strict reader accepts', () => {
    // PNG, third edition, 5.3 and 5.5: libpng refuses a chunk with a wrong CRC.
    const bytes = writePng(makePicture(8, 8, false));
    const broken = Uint8Array.from(bytes);
    const at = broken.length - 20;
    broken[at] = broken[at]! ^ 1;
    return expect(sharp(broken, { failOn: 'warning' }).raw().toBuffer()).rejects.toThrow();
  });
});
