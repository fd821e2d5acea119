import { LINEAR_CODES, toCode } from '../core/colour/srgb.ts';
import type { Pixels } from './image-codec.ts';

/** How texels are mixed. */
interface Mixing {
  /** Red, green and blue are sRGB and are mixed as linear light. Otherwise codes are mixed as plain numbers. */
  readonly asLight: boolean;
  /** Colour is weighted by alpha, so that invisible texels do not bleed into edges. */
  readonly byAlpha: boolean;
}

/**
 * Reduces an image by the mean over the area of each new texel. This keeps the mean of the whole image and, unlike
 * sharper filters, adds no value outside those of its neighbours.
 */
export function shrinkPixels(source: Pixels, widthPx: number, heightPx: number, mixing: Mixing): Pixels {
  const { data, channels } = source;
  const across = listShares(source.widthPx, widthPx);
  const down = listShares(source.heightPx, heightPx);
  const weigh = mixing.byAlpha && channels === 4;
  const values = mixing.asLight ? LINEAR_CODES : PLAIN_CODES;
  const out = Buffer.alloc(widthPx * heightPx * channels);
  // red, green, blue, alpha and weight of the new row that is being filled, of the next one, and of one old row
  const length = widthPx * SUMS;
  let filling = new Float64Array(length);
  let next = new Float64Array(length);
  const line = new Float64Array(length);
  let row = 0;
  const finishRow = () => {
    writeRow(filling, out, row * widthPx * channels, channels, mixing.asLight);
    filling.fill(0);
    [filling, next] = [next, filling];
    row++;
  };
  for (let y = 0; y < source.heightPx; y++) {
    if (down.to[y]! > row) finishRow();
    line.fill(0);
    let at = y * source.widthPx * channels;
    for (let x = 0; x < source.widthPx; x++, at += channels) {
      const alpha = channels === 4 ? data[at + 3]! / 255 : 1;
      // an invisible texel has a small weight, so that areas of only such texels keep their colour
      const weight = weigh ? Math.max(alpha, FAINT) : 1;
      const red = values[data[at]!]! * weight;
      const green = values[data[at + 1]!]! * weight;
      const blue = values[data[at + 2]!]! * weight;
      const first = across.first[x]!;
      const second = across.second[x]!;
      const to = across.to[x]! * SUMS;
      line[to]! += red * first;
      line[to + 1]! += green * first;
      line[to + 2]! += blue * first;
      line[to + 3]! += alpha * first;
      line[to + 4]! += weight * first;
      if (second === 0) continue;
      line[to + 5]! += red * second;
      line[to + 6]! += green * second;
      line[to + 7]! += blue * second;
      line[to + 8]! += alpha * second;
      line[to + 9]! += weight * second;
    }
    const first = down.first[y]!;
    const second = down.second[y]!;
    for (let i = 0; i < length; i++) filling[i]! += line[i]! * first;
    if (second > 0) for (let i = 0; i < length; i++) next[i]! += line[i]! * second;
  }
  finishRow();
  return { data: out, widthPx, heightPx, channels };
}

const SUMS = 5;
const FAINT = 1e-4;
const PLAIN_CODES = Float64Array.from({ length: 256 }, (_, code) => code / 255);

function writeRow(sums: Float64Array, out: Buffer, start: number, channels: 3 | 4, asLight: boolean): void {
  for (let from = 0, to = start; from < sums.length; from += SUMS, to += channels) {
    const weight = sums[from + 4]!;
    for (let c = 0; c < 3; c++) {
      const value = sums[from + c]! / weight;
      out[to + c] = asLight ? toCode(value) : Math.round(value * 255);
    }
    if (channels === 4) out[to + 3] = Math.round(sums[from + 3]! * 255);
  }
}

/** For every old texel along a side: the new texel, its share of it, and its share of the next one. */
interface Shares {
  readonly to: Int32Array;
  readonly first: Float64Array;
  readonly second: Float64Array;
}

/** A new texel covers more than one old texel, so an old one belongs to at most two. */
function listShares(from: number, to: number): Shares {
  const step = from / to;
  const shares = { to: new Int32Array(from), first: new Float64Array(from), second: new Float64Array(from) };
  for (let old = 0; old < from; old++) {
    const target = Math.min(to - 1, Math.floor(old / step + ROUNDING));
    const edge = (target + 1) * step;
    const inFirst = target === to - 1 ? 1 : Math.min(1, edge - old);
    shares.to[old] = target;
    shares.first[old] = inFirst / step;
    shares.second[old] = 1 - inFirst > ROUNDING ? (1 - inFirst) / step : 0;
  }
  return shares;
}

const ROUNDING = 1e-9;
