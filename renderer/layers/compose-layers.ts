import { type Frame, FULL, type Layer } from './layer.ts';

export interface Composed {
  /** 8-bit sRGB, straight alpha, rows from the top. */
  readonly rgba: Uint8Array<ArrayBuffer>;
  /** Whether every pixel is. */
  readonly opaque: boolean;
}

/** Rows summed at a time: their sums stay in a processor's cache, and a picture of 4096 px needs no more of them. */
const BAND_ROWS = 32;

/**
 * Sums layers channel by channel, puts the ground behind them and rounds once: a picture as the studio takes it, where
 * every part wears what its layer shows. Sums are clamped, since the remainders of several layers may reach past what a
 * pixel holds.
 * @param ground sRGB levels of an even ground; null leaves it see-through
 */
export function composeLayers(
  frame: Frame,
  layers: readonly Layer[],
  ground: readonly [number, number, number] | null,
): Composed {
  const { widthPx, heightPx } = frame;
  const rgba = new Uint8Array(widthPx * heightPx * 4);
  const pixels = new Uint32Array(rgba.buffer);
  const empty = ground ? new Uint32Array(new Uint8Array([...ground, 255]).buffer)[0]! : 0;
  const sums = new Int32Array(widthPx * Math.min(BAND_ROWS, heightPx) * 4);
  let opaque = true;
  for (let top = 0; top < heightPx; top += BAND_ROWS) {
    const bottom = Math.min(top + BAND_ROWS, heightPx);
    for (const layer of layers) {
      layWhole(layer, pixels, widthPx, top, bottom);
      addParts(layer, sums, widthPx, top, bottom);
    }
    const [first, last] = [top * widthPx, bottom * widthPx];
    for (let pixel = first, at = 0; pixel < last; pixel++, at += 4) {
      if (sums[at + 3] !== 0) {
        roundPixel(sums, at, rgba, pixel * 4, ground);
        sums[at] = sums[at + 1] = sums[at + 2] = sums[at + 3] = 0;
      } else if (pixels[pixel] === 0) pixels[pixel] = empty;
      if (rgba[pixel * 4 + 3] !== 255) opaque = false;
    }
  }
  return { rgba, opaque };
}

function layWhole(layer: Layer, pixels: Uint32Array, frameWidth: number, top: number, bottom: number): void {
  const { whole, widthPx, left } = layer;
  if (whole.length === 0) return;
  const last = Math.min(bottom, layer.top + layer.heightPx);
  for (let y = Math.max(top, layer.top); y < last; y++) {
    const from = (y - layer.top) * widthPx;
    const to = y * frameWidth + left;
    for (let x = 0; x < widthPx; x++) {
      const value = whole[from + x]!;
      if (value !== 0) pixels[to + x] = value;
    }
  }
}

function addParts(layer: Layer, sums: Int32Array, frameWidth: number, top: number, bottom: number): void {
  const { rowEnds, at, parts, left, black } = layer;
  const last = Math.min(bottom, layer.top + layer.heightPx);
  for (let y = Math.max(top, layer.top); y < last; y++) {
    const row = y - layer.top;
    const start = (y - top) * frameWidth + left;
    const end = rowEnds[row]!;
    let index = row === 0 ? 0 : rowEnds[row - 1]!;
    if (black) {
      for (; index < end; index++) {
        const to = (start + at[index]!) * 4 + 3;
        sums[to] = sums[to]! + parts[index]!;
      }
      continue;
    }
    for (; index < end; index++) {
      const to = (start + at[index]!) * 4;
      const from = index * 4;
      sums[to] = sums[to]! + parts[from]!;
      sums[to + 1] = sums[to + 1]! + parts[from + 1]!;
      sums[to + 2] = sums[to + 2]! + parts[from + 2]!;
      sums[to + 3] = sums[to + 3]! + parts[from + 3]!;
    }
  }
}

/** Sums in 256ths of a level to levels; a layer that covers the pixel wholly stands in `rgba` already. */
function roundPixel(
  sums: Int32Array,
  at: number,
  rgba: Uint8Array,
  to: number,
  ground: readonly [number, number, number] | null,
): void {
  const whole = rgba[to + 3]! * 256;
  const alpha = Math.min(FULL, sums[at + 3]! + whole);
  const shown = ground ? 255 : (alpha + 128) >> 8;
  if (shown === 0) return;
  // levels per unit of a sum, and what the ground adds to it
  const scale = ground ? 1 / 256 : 255 / alpha;
  const open = ground ? (FULL - alpha) / FULL : 0;
  for (let channel = 0; channel < 3; channel++) {
    const sum = sums[at + channel]! + rgba[to + channel]! * 256;
    rgba[to + channel] = Math.min(255, Math.floor(sum * scale + (ground ? ground[channel]! * open : 0) + 0.5));
  }
  rgba[to + 3] = shown;
}
