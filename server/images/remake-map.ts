import type { NormalTurn } from '../core/delivery/repeat-transform.ts';
import { findLevelledType, type LevelTables } from '../core/finish/level-map.ts';
import { sniffImage } from '../core/finish/map-image.ts';
import type { MapFile } from '../core/ports/models.ts';
import { encodeJpeg, encodePng, type Pixels, readPixels } from './image-codec.ts';

/**
 * The change to a map before it is written: into the roughness map of a metal, into white with the alpha of a part's
 * colour map, to 8 bits per channel, or into turned normals.
 */
export type Remake = 'for-metal' | 'alpha-under-white' | 'eight-bit' | NormalTurn;

/**
 * Changes a PNG, JPEG or WebP and writes it as PNG. The same input gives the same bytes. It takes half a second or more for
 * 2048 × 2048 texels, so a service runs it in a worker.
 * @returns null for the alpha of an opaque image
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
      return turnNormalMap(pixels, remake);
  }
}

/** White with the alpha of a colour map, so that only the colour of a finish shows. Null when every pixel is opaque. */
function alphaUnderWhite(pixels: Pixels): Pixels | null {
  if (pixels.channels === 3) return null;
  const data = Buffer.alloc(pixels.data.length, 255);
  let opaque = true;
  for (let i = 3; i < data.length; i += 4) {
    data[i] = pixels.data[i]!;
    if (data[i] !== 255) opaque = false;
  }
  return opaque ? null : { ...pixels, data };
}

/**
 * A roughness map with metalness 1 everywhere, which glTF reads from the blue channel. Green, the roughness, keeps its codes.
 */
function fillMetal({ data, widthPx, heightPx, channels }: Pixels): Pixels {
  const filled = Buffer.alloc(widthPx * heightPx * 3);
  for (let from = 0, to = 0; to < filled.length; from += channels, to += 3) {
    filled[to] = data[from]!;
    filled[to + 1] = data[from + 1]!;
    filled[to + 2] = 255;
  }
  return { data: filled, widthPx, heightPx, channels: 3 };
}

/** Code of a component 0; codes 0 to 255 mean −1 to 1 (glTF 2.0, `normalTexture`). */
const MIDDLE = 127.5;

/** Turns every normal of a map in place, for parts whose tangents do not turn with the map. */
export function turnNormalMap({ data, widthPx, heightPx, channels }: Pixels, { xx, xy, yx, yy }: NormalTurn): Pixels {
  const turned = Buffer.alloc(widthPx * heightPx * 3);
  for (let from = 0, to = 0; to < turned.length; from += channels, to += 3) {
    const [x, y] = [data[from]! - MIDDLE, data[from + 1]! - MIDDLE];
    turned[to] = toCode(xx * x + xy * y);
    turned[to + 1] = toCode(yx * x + yy * y);
    turned[to + 2] = data[from + 2]!;
  }
  return { data: turned, widthPx, heightPx, channels: 3 };
}

/** Rounds half up. The sines of quarter turns are off by a rounding error, so 1e-9 makes those turns exact. */
function toCode(component: number): number {
  return Math.min(255, Math.max(0, Math.floor(component + MIDDLE + 0.5 + 1e-9)));
}

/**
 * Rewrites a colour map with its codes replaced from a table for each channel; alpha stays. The type of the file is that of
 * `findLevelledType`. The same input gives the same bytes. It takes some tenths of a second for 2048 × 2048 texels, so a
 * service runs it in a worker.
 * @throws as `readPixels`
 */
export async function levelImage(image: Uint8Array, tables: LevelTables): Promise<MapFile> {
  const pixels = await readPixels(image);
  const { data, channels } = pixels;
  for (let i = 0; i < data.length; i += channels) {
    data[i] = tables[0][data[i]!]!;
    data[i + 1] = tables[1][data[i + 1]!]!;
    data[i + 2] = tables[2][data[i + 2]!]!;
  }
  const mimeType = findLevelledType(sniffImage(image) ?? '');
  return { bytes: await (mimeType === 'image/png' ? encodePng(pixels) : encodeJpeg(pixels)), mimeType };
}
