import type { NormalTurn } from '../core/delivery/uv-map.ts';
import type { Pixels } from './read-pixels.ts';

/** Code of a component 0; codes 0 to 255 stand for −1 to 1 (glTF 2.0, `normalTexture`). */
const MIDDLE = 127.5;

/** Turns the normals of a map, each where it lies: for parts whose own tangents do not turn with the map as it is laid. */
export function turnMap({ data, widthPx, heightPx, channels }: Pixels, { xx, xy, yx, yy }: NormalTurn): Pixels {
  const turned = Buffer.alloc(widthPx * heightPx * 3);
  for (let from = 0, to = 0; to < turned.length; from += channels, to += 3) {
    const [x, y] = [data[from]! - MIDDLE, data[from + 1]! - MIDDLE];
    turned[to] = toCode(xx * x + xy * y);
    turned[to + 1] = toCode(yx * x + yy * y);
    turned[to + 2] = data[from + 2]!;
  }
  return { data: turned, widthPx, heightPx, channels: 3 };
}

/** Half up, past the hair by which the sines of quarter turns miss, so that those are exact. */
function toCode(component: number): number {
  return Math.min(255, Math.max(0, Math.floor(component + MIDDLE + 0.5 + 1e-9)));
}
