import { LINEAR_CODES } from '../core/colour/linear-codes.ts';
import { type LinearRgb, linearToHex } from '../core/colour/srgb.ts';
import type { ChannelFacts, ImageContent } from '../core/product/survey.ts';
import { measureSpread } from './measure-spread.ts';
import type { Pixels } from './read-pixels.ts';

/** Rounding of an encoder moves a plain colour by a code or two; more is something that was painted. */
const CONSTANT_CODES = 2;

/** A decoded normal this far from unit length still shades plainly: 8-bit codes and JPEG account for most of it. */
const UNIT_TOLERANCE = 0.1;

/** What is in an image, whatever it is used for. All but the spread of colour is counted over every texel given. */
export function measurePixels(pixels: Pixels): ImageContent {
  const counts = countCodes(pixels);
  const channels = counts.map(factsOf);
  const [red, green, blue] = counts as [Float64Array, Float64Array, Float64Array];
  const linearMean: LinearRgb = [meanLight(red), meanLight(green), meanLight(blue)];
  const alpha = channels[3];
  return {
    channels,
    linearMean,
    constant: channels.slice(0, 3).every(({ min, max }) => Math.round((max - min) * 255) <= CONSTANT_CODES),
    hasAlpha: alpha !== undefined && alpha.min < 1,
    normal: measureNormals(pixels),
    colour: { hex: linearToHex(linearMean), deltaE: measureSpread(pixels, linearMean) },
  };
}

/** How often each code occurs, by channel. */
function countCodes({ data, channels }: Pixels): Float64Array[] {
  const counts = Array.from({ length: channels }, () => new Float64Array(256));
  counts.forEach((count, channel) => {
    for (let i = channel; i < data.length; i += channels) count[data[i]!]!++;
  });
  return counts;
}

function factsOf(count: Float64Array): ChannelFacts {
  let texels = 0;
  let sum = 0;
  let min = 255;
  let max = 0;
  for (let code = 0; code < 256; code++) {
    if (count[code] === 0) continue;
    texels += count[code]!;
    sum += count[code]! * code;
    min = Math.min(min, code);
    max = code;
  }
  const mean = sum / texels;
  let squares = 0;
  for (let code = min; code <= max; code++) squares += count[code]! * (code - mean) ** 2;
  return { mean: mean / 255, min: min / 255, max: max / 255, spread: Math.sqrt(squares / texels) / 255 };
}

/** Sum of three codes up to which a texel is black, compression apart. */
const BLACK = 24;

function meanLight(count: Float64Array): number {
  let texels = 0;
  let sum = 0;
  for (let code = 0; code < 256; code++) {
    texels += count[code]!;
    sum += count[code]! * LINEAR_CODES[code]!;
  }
  return sum / texels;
}

/** Squares of what codes stand for in a normal map, code ÷ 255 × 2 − 1 (glTF 2.0 §3.9.3). */
const SQUARES = Float64Array.from({ length: 256 }, (_, code) => ((code / 255) * 2 - 1) ** 2);

/** Black and transparent texels are what a baker leaves between the islands of an atlas: no code of a normal is black. */
function measureNormals({ data, channels }: Pixels): ImageContent['normal'] {
  const [shortest, longest] = [(1 - UNIT_TOLERANCE) ** 2, (1 + UNIT_TOLERANCE) ** 2];
  let unit = 0;
  let outward = 0;
  let texels = 0;
  for (let i = 0; i < data.length; i += channels) {
    if (data[i]! + data[i + 1]! + data[i + 2]! <= BLACK || (channels === 4 && data[i + 3] === 0)) continue;
    texels++;
    const square = SQUARES[data[i]!]! + SQUARES[data[i + 1]!]! + SQUARES[data[i + 2]!]!;
    if (square >= shortest && square <= longest) unit++;
    if (data[i + 2]! > 127) outward++;
  }
  return texels > 0 ? { unit: unit / texels, outward: outward / texels } : { unit: 0, outward: 0 };
}
