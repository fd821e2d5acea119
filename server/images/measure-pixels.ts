import type { Lab } from '../core/colour/lab.ts';
import { LINEAR_CODES, type LinearRgb, linearToHex } from '../core/colour/srgb.ts';
import type { CodeCounts } from '../core/finish/level-map.ts';
import type { ChannelFacts, ImageContent } from '../core/product/survey.ts';
import type { Pixels } from './image-codec.ts';

/** An encoder changes a plain colour by a code or two; more means a drawn image. */
const CONSTANT_CODES = 2;

/** Deviation from unit length within which a normal is usable: 8-bit codes and JPEG cause most of it. */
const UNIT_TOLERANCE = 0.1;

/** Measures the content of an image, for any use. All values except the spread of colour count every texel. */
export function measurePixels(pixels: Pixels): ImageContent {
  const counts = countChannels(pixels, pixels.channels);
  const channels = counts.map(factsOf);
  const [red, green, blue] = counts as [number[], number[], number[]];
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

function factsOf(count: readonly number[]): ChannelFacts {
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

/** Sum of three codes up to which a texel counts as black, despite compression. */
const BLACK = 24;

function meanLight(count: readonly number[]): number {
  let texels = 0;
  let sum = 0;
  for (let code = 0; code < 256; code++) {
    texels += count[code]!;
    sum += count[code]! * LINEAR_CODES[code]!;
  }
  return sum / texels;
}

/** Squares of the components of normals by code: code ÷ 255 × 2 − 1 (glTF 2.0 §3.9.3). */
const SQUARES = Float64Array.from({ length: 256 }, (_, code) => ((code / 255) * 2 - 1) ** 2);

/** Skips black and transparent texels, which bakers leave between the islands of an atlas: no normal is black. */
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

/**
 * Counts how often each code occurs in red, green and blue.
 * @param weights weight of each texel; null if all count once
 */
export function countCodes(pixels: Pixels, weights: Uint8Array | null = null): CodeCounts {
  return countChannels(pixels, 3, weights) as unknown as CodeCounts;
}

function countChannels({ data, channels }: Pixels, counted: number, weights: Uint8Array | null = null): number[][] {
  const counts = Array.from({ length: counted }, () => new Array<number>(256).fill(0));
  for (let i = 0, texel = 0; i < data.length; i += channels, texel++) {
    const weight = weights === null ? 1 : weights[texel]!;
    if (weight > 0) for (let c = 0; c < counted; c++) counts[c]![data[i + c]!]! += weight;
  }
  return counts;
}

/** Texels that are sampled: the mean ΔE is then accurate to about half a per cent, in some ten ms for a map of any size. */
const SAMPLES = 65_536;

/** Fraction of the golden section. Steps of this size spread samples evenly, and not in step with any pattern. */
const GOLDEN = 0.6180339887498949;

/** Mean ΔE*ab of texels, read as sRGB, from a colour in linear light. */
function measureSpread({ data, channels }: Pixels, colour: LinearRgb): number {
  const texels = data.length / channels;
  const samples = Math.min(texels, SAMPLES);
  const stride = texels > SAMPLES ? coprime(Math.round(texels * GOLDEN), texels) : 1;
  const [l, a, b] = toLab(colour);
  let sum = 0;
  for (let i = 0, texel = 0; i < samples; i++, texel = (texel + stride) % texels) {
    const at = texel * channels;
    const lab = toLab([LINEAR_CODES[data[at]!]!, LINEAR_CODES[data[at + 1]!]!, LINEAR_CODES[data[at + 2]!]!]);
    sum += Math.hypot(lab[0] - l, lab[1] - a, lab[2] - b);
  }
  return sum / samples;
}

/**
 * Converts linear sRGB to Lab under D65, like `linearToLab`, but some fifty times as fast, since it runs for each texel.
 * Matrix and white are those of CSS Color 4; the formula is in CIE 15.
 */
export function toLab([red, green, blue]: LinearRgb): Lab {
  const x = curve((0.41239079926595934 * red + 0.357584339383878 * green + 0.1804807884018343 * blue) / WHITE_X);
  const y = curve(0.21263900587151027 * red + 0.715168678767756 * green + 0.07219231536073371 * blue);
  const z = curve((0.01933081871559182 * red + 0.11919477979462598 * green + 0.9505321522496607 * blue) / WHITE_Z);
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

const WHITE_X = 0.3127 / 0.329;
const WHITE_Z = (1 - 0.3127 - 0.329) / 0.329;

function curve(t: number): number {
  return t > 216 / 24389 ? Math.cbrt(t) : ((24389 / 27) * t + 16) / 116;
}

/** The first number from `start` on that is coprime to `n`, so that steps of it reach every texel once. */
function coprime(start: number, n: number): number {
  const divisor = (a: number, b: number): number => (b === 0 ? a : divisor(b, a % b));
  let step = Math.max(1, start);
  while (divisor(step, n) !== 1) step++;
  return step;
}
