import { getThreshold } from '../dither.ts';
import { isOpaque } from '../pixels/write-png.ts';
import { type Frame, FULL, type Layer } from './layer.ts';

export interface Composed {
  /** 8-bit sRGB, straight alpha, rows from the top. */
  readonly rgba: Uint8Array;
  /** Whether every pixel is opaque. */
  readonly opaque: boolean;
}

/** Rows summed at a time. Their sums fit into a processor's cache for any picture size. */
const BAND_ROWS = 32;

type Ground = readonly [number, number, number];

/** Rows of a picture. */
interface Band {
  readonly top: number;
  readonly bottom: number;
  /** The picture's row at which the frame begins. */
  readonly firstRow: number;
}

/** Sums of partly covered pixels of a band, in 256ths of a level. */
interface Sums {
  /** Red, green, blue and alpha of coloured layers. */
  readonly colour: Int32Array;
  /** Pixels of the band that a coloured layer covers partly, `count` of them. */
  readonly touched: Uint32Array;
  count: number;
  /** Alpha of black layers. A shadow covers much of a picture and rarely overlaps anything. */
  readonly shade: Int32Array;
  shaded: boolean;
  /** Sum of one pixel. */
  readonly sum: Int32Array;
}

/**
 * Sums layers channel by channel, adds the background and rounds once. The result equals a shot in which every part has
 * the finish of its layer. Sums are clamped, because the remainders of several layers may exceed a whole pixel.
 * @param ground sRGB levels of an even background; null for a transparent one
 * @param firstRow if the frame is a strip of a picture, the picture's row at which it begins
 */
export function composeLayers(frame: Frame, layers: readonly Layer[], ground: Ground | null, firstRow = 0): Composed {
  const { widthPx, heightPx } = frame;
  const rgba = new Uint8Array(widthPx * heightPx * 4);
  const pixels = new Uint32Array(rgba.buffer);
  const size = widthPx * Math.min(BAND_ROWS, heightPx);
  const sums: Sums = {
    colour: new Int32Array(size * 4),
    touched: new Uint32Array(size),
    count: 0,
    shade: new Int32Array(size),
    shaded: false,
    sum: new Int32Array(4),
  };
  for (let top = 0; top < heightPx; top += BAND_ROWS) {
    const bottom = Math.min(top + BAND_ROWS, heightPx);
    for (const layer of layers) {
      if (layer.black) addShade(layer, sums, widthPx, top, bottom);
      else {
        layWhole(layer, pixels, widthPx, top, bottom);
        addParts(layer, sums, widthPx, top, bottom);
      }
    }
    const band = { top, bottom, firstRow };
    for (let index = 0; index < sums.count; index++) {
      roundPixel(sums, sums.touched[index]!, rgba, frame, band, ground);
    }
    sums.count = 0;
    if (sums.shaded || ground) layOpen(rgba, sums.shade, frame, band, ground);
    sums.shaded = false;
  }
  return { rgba, opaque: ground !== null || isOpaque(rgba) };
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

function addParts(layer: Layer, sums: Sums, frameWidth: number, top: number, bottom: number): void {
  const { rowEnds, at, parts, left } = layer;
  const { colour, touched } = sums;
  const last = Math.min(bottom, layer.top + layer.heightPx);
  for (let y = Math.max(top, layer.top); y < last; y++) {
    const row = y - layer.top;
    const start = (y - top) * frameWidth + left;
    for (let index = row === 0 ? 0 : rowEnds[row - 1]!; index < rowEnds[row]!; index++) {
      const pixel = start + at[index]!;
      const to = pixel * 4;
      const from = index * 4;
      // Every listed pixel of a layer covers something.
      if (colour[to + 3] === 0) touched[sums.count++] = pixel;
      colour[to] = colour[to]! + parts[from]!;
      colour[to + 1] = colour[to + 1]! + parts[from + 1]!;
      colour[to + 2] = colour[to + 2]! + parts[from + 2]!;
      colour[to + 3] = colour[to + 3]! + parts[from + 3]!;
    }
  }
}

function addShade(
  { rowEnds, at, parts, left, ...layer }: Layer,
  sums: Sums,
  frameWidth: number,
  top: number,
  bottom: number,
): void {
  const { shade } = sums;
  const last = Math.min(bottom, layer.top + layer.heightPx);
  if (last > Math.max(top, layer.top)) sums.shaded = true;
  for (let y = Math.max(top, layer.top); y < last; y++) {
    const row = y - layer.top;
    const start = (y - top) * frameWidth + left;
    for (let index = row === 0 ? 0 : rowEnds[row - 1]!; index < rowEnds[row]!; index++) {
      const pixel = start + at[index]!;
      shade[pixel] = shade[pixel]! + parts[index]!;
    }
  }
}

/**
 * Adds shadow and background outside all parts, rounded by a pattern as in the studio. The remainder of a shadow does
 * not darken a fully covered pixel.
 */
function layOpen(rgba: Uint8Array, shade: Int32Array, { widthPx }: Frame, band: Band, ground: Ground | null): void {
  const pixels = new Uint32Array(rgba.buffer);
  const bare = new Uint32Array(Uint8Array.of(...(ground ?? [0, 0, 0]), ground ? 255 : 0).buffer)[0]!;
  for (let y = band.top, at = 0; y < band.bottom; y++) {
    for (let x = 0; x < widthPx; x++, at++) {
      const pixel = y * widthPx + x;
      const sum = shade[at]!;
      shade[at] = 0;
      if (pixels[pixel] !== 0) continue;
      if (sum === 0) pixels[pixel] = bare;
      else writeShade(rgba, pixel * 4, Math.min(sum, FULL), getThreshold(x, y + band.firstRow), ground);
    }
  }
}

/** Black with an alpha in 256ths of a level, without any other layer. `QUANTISE` in `page/accumulate.ts` does the same. */
function writeShade(rgba: Uint8Array, to: number, alpha: number, threshold: number, ground: Ground | null): void {
  rgba[to + 3] = ground ? 255 : (alpha + threshold) >> 8;
  if (!ground) return;
  const open = (FULL - alpha) / FULL;
  // 256ths of a level, with the pattern inverted.
  for (let channel = 0; channel < 3; channel++) {
    rgba[to + channel] = (ground[channel]! * open * 256 + 255.5 - threshold) >> 8;
  }
}

/**
 * Rounds a pixel that coloured layers cover partly; a black one by the pattern too. A fully covered pixel is already in
 * `rgba`.
 */
function roundPixel(
  sums: Sums,
  pixel: number,
  rgba: Uint8Array,
  { widthPx }: Frame,
  band: Band,
  ground: Ground | null,
): void {
  const { colour, shade, sum } = sums;
  const from = pixel * 4;
  const to = (band.top * widthPx + pixel) * 4;
  for (let channel = 0; channel < 4; channel++) {
    sum[channel] = colour[from + channel]! + rgba[to + channel]! * 256;
    colour[from + channel] = 0;
  }
  sum[3] = Math.min(FULL, sum[3]! + shade[pixel]!);
  shade[pixel] = 0;
  if (sum[0] === 0 && sum[1] === 0 && sum[2] === 0) {
    const y = band.top + band.firstRow + Math.floor(pixel / widthPx);
    writeShade(rgba, to, sum[3]!, getThreshold(pixel % widthPx, y), ground);
  } else writePixel(rgba, to, sum, ground);
}

/** Converts premultiplied 256ths of a level to straight levels, or to levels over the background. */
function writePixel(rgba: Uint8Array, to: number, sum: ArrayLike<number>, ground: Ground | null): void {
  const alpha = sum[3]!;
  const shown = ground ? 255 : (alpha + 128) >> 8;
  // Levels per unit of a sum, and the share of the background.
  const scale = ground ? 1 / 256 : 255 / alpha;
  const open = ground ? (FULL - alpha) / FULL : 0;
  for (let channel = 0; channel < 3; channel++) {
    const level = sum[channel]! * scale + (ground ? ground[channel]! * open : 0);
    rgba[to + channel] = shown === 0 ? 0 : Math.min(255, Math.floor(level + 0.5));
  }
  rgba[to + 3] = shown;
}
