import type { Pixels } from './read-pixels.ts';

/**
 * The alpha of a colour map under plain white, so that a finish's colour is all that is seen of it. Null when every pixel
 * is opaque: there is nothing to keep.
 */
export function alphaUnderWhite(pixels: Pixels): Pixels | null {
  if (pixels.channels === 3) return null;
  const data = Buffer.alloc(pixels.data.length, 255);
  let opaque = true;
  for (let i = 3; i < data.length; i += 4) {
    data[i] = pixels.data[i]!;
    if (data[i] !== 255) opaque = false;
  }
  return opaque ? null : { ...pixels, data };
}
