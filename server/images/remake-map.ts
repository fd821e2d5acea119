import type { NormalTurn } from '../core/delivery/uv-map.ts';
import { alphaUnderWhite } from './alpha-under-white.ts';
import { encodePng } from './encode-png.ts';
import { fillMetal } from './fill-metal.ts';
import { type Pixels, readPixels } from './read-pixels.ts';
import { turnMap } from './turn-map.ts';

/**
 * What a map is made into before it is written: a roughness map of a metal, the alpha of a part's colour map under white,
 * the same colours at 8 bits per channel, or normals that are turned.
 */
export type Remake = 'for-metal' | 'alpha-under-white' | 'eight-bit' | NormalTurn;

/**
 * Remakes a PNG, JPEG or WebP as PNG: half a second and more for 2048 × 2048 texels, to be run in a worker by who serves
 * others meanwhile. The same input gives the same bytes.
 * @returns null for the alpha of an image that is opaque
 * @throws as `readPixels`
 */
export async function remakeMap(bytes: Uint8Array, remake: Remake): Promise<Uint8Array | null> {
  const pixels = remakePixels(await readPixels(bytes), remake);
  return pixels && encodePng(pixels);
}

function remakePixels(pixels: Pixels, remake: Remake): Pixels | null {
  switch (remake) {
    case 'for-metal':
      return fillMetal(pixels);
    case 'alpha-under-white':
      return alphaUnderWhite(pixels);
    case 'eight-bit':
      return pixels;
    default:
      return turnMap(pixels, remake);
  }
}
