import { encodeSrgb } from '../../core/colour/srgb.ts';
import { LINEAR_CODES } from '../linear-codes.ts';
import type { Pixels } from '../read-pixels.ts';

/** How codes are read while texels are mixed. */
export interface Mixing {
  /** Red, green and blue mean sRGB: they are mixed as light. Else codes are mixed as the numbers they are. */
  readonly asLight: boolean;
  /** Colour counts by how opaque it is, so that what nobody sees does not bleed into edges. */
  readonly byAlpha: boolean;
}

/**
 * Makes an image smaller by the mean over the area each new texel covers, which keeps the mean of the whole and, unlike
 * sharper filters, makes no value that was not between its neighbours'.
 */
export function shrinkPixels(source: Pixels, widthPx: number, heightPx: number, mixing: Mixing): Pixels {
  const { data, channels } = source;
  const across = listShares(source.widthPx, widthPx);
  const down = listShares(source.heightPx, heightPx);
  const out = Buffer.alloc(widthPx * heightPx * channels);
  const sums = new Float64Array(widthPx * (channels + 1));
  const line = new Float64Array(sums.length);
  const weigh = mixing.byAlpha && channels === 4;
  const values = mixing.asLight ? LINEAR_CODES : PLAIN_CODES;
  for (let y = 0; y < heightPx; y++) {
    sums.fill(0);
    for (let row = down.first[y]!; row <= down.last[y]!; row++) {
      const share = shareOf(down, y, row);
      line.fill(0);
      for (let x = 0; x < widthPx; x++) {
        const to = x * (channels + 1);
        for (let column = across.first[x]!; column <= across.last[x]!; column++) {
          const at = (row * source.widthPx + column) * channels;
          const area = shareOf(across, x, column);
          // a texel that is not seen still counts for a little: where all are so, their colour stays
          const weight = weigh ? (area * Math.max(data[at + 3]!, FAINT)) / 255 : area;
          for (let c = 0; c < 3; c++) line[to + c]! += values[data[at + c]!]! * weight;
          if (channels === 4) line[to + 3]! += PLAIN_CODES[data[at + 3]!]! * area;
          line[to + channels]! += weight;
        }
      }
      for (let i = 0; i < sums.length; i++) sums[i]! += line[i]! * share;
    }
    for (let x = 0; x < widthPx; x++) {
      const from = x * (channels + 1);
      const to = (y * widthPx + x) * channels;
      for (let c = 0; c < 3; c++) {
        const value = sums[from + c]! / sums[from + channels]!;
        out[to + c] = Math.round((mixing.asLight ? encodeSrgb(value) : value) * 255);
      }
      if (channels === 4) out[to + 3] = Math.round(sums[from + 3]! * 255);
    }
  }
  return { data: out, widthPx, heightPx, channels };
}

const FAINT = 0.01;
const PLAIN_CODES = Float64Array.from({ length: 256 }, (_, code) => code / 255);

/** For every new texel along a side, the old ones it covers, first and last in part. */
interface Shares {
  readonly first: Int32Array;
  readonly last: Int32Array;
  readonly start: Float64Array;
  /** Old texels a new one covers. */
  readonly step: number;
}

function listShares(from: number, to: number): Shares {
  const step = from / to;
  const start = Float64Array.from({ length: to }, (_, i) => i * step);
  const first = Int32Array.from(start, (at) => Math.min(from - 1, Math.floor(at + ROUNDING)));
  const last = Int32Array.from(start, (at) => Math.min(from - 1, Math.ceil(at + step - ROUNDING) - 1));
  return { first, last, start, step };
}

const ROUNDING = 1e-9;

/** Share of a new texel that an old one makes up; they add up to 1. */
function shareOf({ start, step }: Shares, index: number, old: number): number {
  const from = Math.max(start[index]!, old);
  const to = Math.min(start[index]! + step, old + 1);
  return Math.max(0, to - from) / step;
}
