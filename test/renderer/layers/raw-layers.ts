import type { RawLayer } from '../../../server/core/ports/renderer.ts';

/** A raw pixel: red, green, blue, alpha, premultiplied, in levels with fractions of 1/256; null is empty. */
export type Pixel = readonly [number, number, number, number] | null;

const MAKER = { browser: 'a browser', gl: 'a driver', studio: '1' };

/** A layer of the given pixels, row by row. */
export function makeRawLayer(widthPx: number, pixels: readonly Pixel[]): RawLayer {
  const bytes = new Uint8Array(pixels.length * 8);
  pixels.forEach((pixel, index) => {
    pixel?.forEach((level, channel) => {
      bytes[index * 4 + channel] = Math.floor(level);
      bytes[(pixels.length + index) * 4 + channel] = Math.round((level % 1) * 256);
    });
  });
  const size = { widthPx, heightPx: pixels.length / widthPx };
  return { ...size, box: { left: 0, top: 0, ...size }, bytes, maker: MAKER };
}
