import type { Lab } from '../core/colour/lab.ts';
import { LINEAR_CODES } from '../core/colour/linear-codes.ts';
import type { LinearRgb } from '../core/colour/srgb.ts';
import type { Pixels } from './read-pixels.ts';

/** Texels looked at: their mean ΔE is then sure to about half a per cent, and a map of any size takes some ten ms. */
const SAMPLES = 65_536;

/** Fraction of the golden section, by which samples are laid over an image evenly and in step with no pattern. */
const GOLDEN = 0.6180339887498949;

/** Mean ΔE*ab of texels, read as sRGB, from a colour in linear light. */
export function measureSpread({ data, channels }: Pixels, colour: LinearRgb): number {
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
 * Linear sRGB to Lab under D65, as `linearToLab` has it but some fifty times as fast, which counts at a texel's rate.
 * Matrix and white are CSS Color 4's; CIE 15 has the rest.
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

/** The next number from `start` on that shares no divisor with `n`, so that steps of it reach every texel once. */
function coprime(start: number, n: number): number {
  const divisor = (a: number, b: number): number => (b === 0 ? a : divisor(b, a % b));
  let step = Math.max(1, start);
  while (divisor(step, n) !== 1) step++;
  return step;
}
