import sharp from 'sharp';
import type { NormalTurn } from '../../core/delivery/uv-map.ts';
import type { MapFile } from '../../core/ports/models.ts';
import { readPixels } from '../read-pixels.ts';

/** Code of a component 0; codes 0 to 255 stand for −1 to 1 (glTF 2.0, `normalTexture`). */
const MIDDLE = 127.5;

/**
 * Turns the normals of a map, each where it lies: for parts whose own tangents do not turn with the map as it is laid.
 * A map in KTX2 cannot be read here, and stays as it is. The same input gives the same bytes.
 */
export async function turnMap(map: MapFile, { xx, xy, yx, yy }: NormalTurn): Promise<MapFile> {
  if (map.mimeType === 'image/ktx2') return map;
  const { data, widthPx, heightPx, channels } = await readPixels(map.bytes);
  const turned = Buffer.alloc(widthPx * heightPx * 3);
  for (let from = 0, to = 0; to < turned.length; from += channels, to += 3) {
    const [x, y] = [data[from]! - MIDDLE, data[from + 1]! - MIDDLE];
    turned[to] = toCode(xx * x + xy * y);
    turned[to + 1] = toCode(yx * x + yy * y);
    turned[to + 2] = data[from + 2]!;
  }
  const raw = { width: widthPx, height: heightPx, channels: 3 } as const;
  return { bytes: await sharp(turned, { raw }).png({ compressionLevel: 9 }).toBuffer(), mimeType: 'image/png' };
}

/** Half up, past the hair by which the sines of quarter turns miss, so that those are exact. */
function toCode(component: number): number {
  return Math.min(255, Math.max(0, Math.floor(component + MIDDLE + 0.5 + 1e-9)));
}
