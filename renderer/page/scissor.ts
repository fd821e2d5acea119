import { Vector4 } from 'three';
import type { Tile } from './tiles.ts';

/** A box counted from the top left corner as GL has it, which counts rows from the bottom of what is drawn. */
export function toScissor({ left, top, widthPx, heightPx }: Tile, drawnHeightPx: number): Vector4 {
  return new Vector4(left, drawnHeightPx - top - heightPx, widthPx, heightPx);
}

/** What two boxes share; nothing is 0 × 0. */
export function intersect(one: Tile, other: Tile): Tile {
  const left = Math.max(one.left, other.left);
  const top = Math.max(one.top, other.top);
  const widthPx = Math.min(one.left + one.widthPx, other.left + other.widthPx) - left;
  const heightPx = Math.min(one.top + one.heightPx, other.top + other.heightPx) - top;
  return widthPx > 0 && heightPx > 0 ? { left, top, widthPx, heightPx } : { left, top, widthPx: 0, heightPx: 0 };
}

/** The smallest box that holds all of them. */
export function unite(boxes: readonly Tile[]): Tile {
  const some = boxes.filter(({ widthPx }) => widthPx > 0);
  if (some.length === 0) return { left: 0, top: 0, widthPx: 0, heightPx: 0 };
  const left = Math.min(...some.map((box) => box.left));
  const top = Math.min(...some.map((box) => box.top));
  const right = Math.max(...some.map((box) => box.left + box.widthPx));
  const bottom = Math.max(...some.map((box) => box.top + box.heightPx));
  return { left, top, widthPx: right - left, heightPx: bottom - top };
}
