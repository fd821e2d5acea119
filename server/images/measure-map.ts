import { meanOf } from '../core/finish/level-map.ts';
import type { MapFacts, Seam } from '../core/finish/map-facts.ts';
import { countCodes } from './count-codes.ts';
import { measurePixels } from './measure-pixels.ts';
import { type Pixels, readPixels, type Strictness, thinOut } from './read-pixels.ts';

/**
 * Longest side that is measured texel by texel. Larger maps are thinned out evenly: texels are then as far apart across the
 * edges as inside, so that what is said of the seam holds.
 */
const MEASURED_PX = 2048;

/** Codes by which red, green and blue of a grey texel may differ: encoders that keep colour at half size move them. */
const GREY_CODES = 4;

/**
 * What is in an uploaded PNG, JPEG or WebP as a map: some tenths of a second for 2048 × 2048 texels, to be run in a
 * worker by who serves others meanwhile.
 * @throws as `readPixels`
 */
export async function measureMap(bytes: Uint8Array, strictness?: Strictness): Promise<MapFacts> {
  const all = await readPixels(bytes, undefined, strictness);
  // every texel, since a weave and an even grid of samples may fall into step; the rest is measured on fewer
  const codes = countCodes(all);
  const pixels = thinOut(all, MEASURED_PX);
  const { channels, constant, normal } = measurePixels(pixels);
  const alpha = channels[3];
  return {
    content: {
      linearMean: meanOf(codes),
      codes,
      channels: channels.map(({ min, max, mean }) => ({ min, max, mean })),
      grey: isGrey(pixels),
      alphaVaries: alpha !== undefined && alpha.min !== alpha.max,
      constant,
      normal,
    },
    seams: measureSeams(pixels),
  };
}

function isGrey({ data, channels }: Pixels): boolean {
  for (let i = 0; i < data.length; i += channels) {
    const [red, green, blue] = [data[i]!, data[i + 1]!, data[i + 2]!];
    if (Math.max(red, green, blue) - Math.min(red, green, blue) > GREY_CODES) return false;
  }
  return true;
}

/** Steps between neighbouring columns and rows; alpha is not looked at. */
function measureSeams({ data, widthPx, heightPx, channels }: Pixels): MapFacts['seams'] {
  // sums of the steps to the next column, or row; that of the last one leads back to the first
  const columns = new Float64Array(widthPx);
  const rows = new Float64Array(heightPx);
  const stride = widthPx * channels;
  for (let y = 0; y < heightPx; y++) {
    const row = y * stride;
    const below = y + 1 === heightPx ? 0 : row + stride;
    let down = 0;
    for (let x = 0; x < widthPx; x++) {
      const at = x * channels;
      const i = row + at;
      const right = x + 1 === widthPx ? row : i + channels;
      const under = below + at;
      columns[x]! +=
        Math.abs(data[right]! - data[i]!) +
        Math.abs(data[right + 1]! - data[i + 1]!) +
        Math.abs(data[right + 2]! - data[i + 2]!);
      down +=
        Math.abs(data[under]! - data[i]!) +
        Math.abs(data[under + 1]! - data[i + 1]!) +
        Math.abs(data[under + 2]! - data[i + 2]!);
    }
    rows[y] = down;
  }
  return { leftRight: toSeam(columns, heightPx), topBottom: toSeam(rows, widthPx) };
}

function toSeam(sums: Float64Array, texels: number): Seam | null {
  const inside = sums.length - 1;
  if (inside < 1) return null;
  const scale = 1 / (texels * 3 * 255);
  let sum = 0;
  let strongest = 0;
  for (let i = 0; i < inside; i++) {
    sum += sums[i]!;
    strongest = Math.max(strongest, sums[i]!);
  }
  return { step: sums[inside]! * scale, inner: (sum / inside) * scale, strongest: strongest * scale };
}
