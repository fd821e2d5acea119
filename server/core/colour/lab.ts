import {
  ColorSpace,
  deltaE2000 as colorjsDeltaE2000,
  deltaECMC as colorjsDeltaECmc,
  Lab_D65,
  Lab as LabD50,
  sRGB_Linear,
  to,
  XYZ_D50,
  XYZ_D65,
} from 'colorjs.io/fn';
import type { Illuminant, Observer } from '../finish/finish.ts';
import { decodeSrgb, encodeSrgb, hexToLinear, type LinearRgb, luminance } from './srgb.ts';

/** CIE L*a*b*: L 0–100, a and b about ±128. */
export type Lab = readonly [number, number, number];

for (const space of [LabD50, Lab_D65, XYZ_D65, XYZ_D50, sRGB_Linear]) ColorSpace.register(space);

/**
 * Converts Lab under an illuminant and the 2° observer to linear sRGB, not clamped to 0–1.
 * White points are those of CSS Color 4 (from four-digit xy); adaptation is Bradford.
 */
export function labToLinear(lab: Lab, illuminant: Illuminant): LinearRgb {
  const { coords } = to({ space: illuminant === 'D50' ? LabD50 : Lab_D65, coords: [...lab], alpha: 1 }, sRGB_Linear);
  return [coords[0] ?? 0, coords[1] ?? 0, coords[2] ?? 0];
}

/** Linear sRGB to Lab under D65 (or D50), 2° observer. */
export function linearToLab(rgb: LinearRgb, illuminant: Illuminant = 'D65'): Lab {
  const { coords } = to({ space: sRGB_Linear, coords: [...rgb], alpha: 1 }, illuminant === 'D50' ? LabD50 : Lab_D65);
  return [coords[0] ?? 0, coords[1] ?? 0, coords[2] ?? 0];
}

/** CIEDE2000 of two Lab colours under the same illuminant; kL = kC = kH = 1 (CIE 142-2001). */
export function deltaE2000(a: Lab, b: Lab): number {
  return colorjsDeltaE2000({ space: LabD50, coords: [...a], alpha: 1 }, { space: LabD50, coords: [...b], alpha: 1 });
}

/** CIE 1976 colour difference: the distance of two colours in Lab (CIE 15). */
export function deltaEab(a: Lab, b: Lab): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
}

/** `#rrggbb` to Lab under D65. */
export function hexToLab(hex: string): Lab {
  return linearToLab(hexToLinear(hex));
}

/**
 * CMC(l:c) colour difference of a sample from its reference, both Lab under one illuminant (ISO 105-J03, BS 6923).
 * It is not symmetric: the tolerance depends on the reference. 2:1 judges whether cloth is acceptable, 1:1 whether a
 * person sees a difference.
 */
export function deltaECmc(reference: Lab, sample: Lab, l = 2, c = 1): number {
  return colorjsDeltaECmc(
    { space: LabD50, coords: [...reference], alpha: 1 },
    { space: LabD50, coords: [...sample], alpha: 1 },
    { l, c },
  );
}

/** ε and κ of CIE 15 as exact fractions, so that the curve has no step where its two parts meet. */
const EPSILON = 216 / 24389;
const KAPPA = 24389 / 27;

/** Converts XYZ (Y of the white is 100) to L*a*b* with the white of the illuminant and observer (CIE 15). */
export function xyzToLab(xyz: Xyz, illuminant: Illuminant, observer: Observer): Lab {
  const white = WHITE_POINTS[illuminant][observer];
  const bend = (ratio: number) => (ratio > EPSILON ? Math.cbrt(ratio) : (KAPPA * ratio + 16) / 116);
  const fx = bend(xyz[0] / white[0]);
  const fy = bend(xyz[1] / white[1]);
  const fz = bend(xyz[2] / white[2]);
  return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)];
}

/** Converts L*a*b* to XYZ (Y of the white is 100) with the white of the illuminant and observer (CIE 15). */
export function labToXyz([l, a, b]: Lab, illuminant: Illuminant, observer: Observer): Xyz {
  const white = WHITE_POINTS[illuminant][observer];
  const straighten = (f: number) => (f ** 3 > EPSILON ? f ** 3 : (116 * f - 16) / KAPPA);
  const fy = (l + 16) / 116;
  return [straighten(fy + a / 500) * white[0], straighten(fy) * white[1], straighten(fy - b / 200) * white[2]];
}

/**
 * Converts XYZ of the 2° observer (Y of the white is 100) to linear sRGB, not clamped to 0–1; D50 is adapted by
 * Bradford.
 */
export function xyzToLinear(xyz: Xyz, illuminant: Illuminant): LinearRgb {
  const space = illuminant === 'D50' ? XYZ_D50 : XYZ_D65;
  const { coords } = to({ space, coords: [xyz[0] / 100, xyz[1] / 100, xyz[2] / 100], alpha: 1 }, sRGB_Linear);
  return [coords[0] ?? 0, coords[1] ?? 0, coords[2] ?? 0];
}

/** CIE XYZ; Y of the perfect white is 100. */
export type Xyz = readonly [number, number, number];

/** XYZ of the white with chromaticity x, y. */
function whiteOf(x: number, y: number): Xyz {
  return [(100 * x) / y, 100, (100 * (1 - x - y)) / y];
}

/**
 * The only set of white points, Y = 100. For 2° they are those of CSS Color 4 (four-digit xy, as in the other colour
 * files); for 10° those of ASTM E308.
 */
export const WHITE_POINTS: Readonly<Record<Illuminant, Readonly<Record<Observer, Xyz>>>> = {
  D65: { '2deg': whiteOf(0.3127, 0.329), '10deg': [94.811, 100, 107.304] },
  D50: { '2deg': whiteOf(0.3457, 0.3585), '10deg': [96.72, 100, 81.427] },
};

interface Fitted {
  /** Linear RGB, each channel 0–1. */
  readonly rgb: LinearRgb;
  /** CIEDE2000 between the given colour and the fitted one; 0 for a colour inside the gamut. */
  readonly deltaE: number;
}

/** Rounding error of a matrix and its inverse; a value less than this outside 0–1 is still inside the gamut. */
const ROUNDING = 1e-6;
/** First and last step of the search, in sRGB signal 0–1: from 1/16 of the range to a tenth of a code. */
const FIRST_STEP = 1 / 16;
const LAST_STEP = 1 / 2500;

/**
 * Finds the sRGB colour nearest to a given one by ΔE00, and always states the distance.
 * It starts at the nearer of two guesses: the clamped channels, or less chroma at equal luminance. It then walks
 * downhill inside the cube along the channels, the three pairs of channels and the greys, and halves its step when no
 * neighbour is nearer.
 */
export function fitToGamut(rgb: LinearRgb): Fitted {
  if (rgb.every((c) => c >= -ROUNDING && c <= 1 + ROUNDING)) return { rgb: cut(rgb), deltaE: 0 };
  const asked = linearToLab(rgb);
  const starts = [cut(rgb), reduceChroma(rgb)].map((start) => measure(asked, start));
  return walk(
    asked,
    starts.reduce((best, next) => (next.deltaE < best.deltaE ? next : best)),
  );
}

const DIRECTIONS: readonly (readonly [number, number, number])[] = [-1, 0, 1]
  .flatMap((r) => [-1, 0, 1].flatMap((g) => [-1, 0, 1].map((b) => [r, g, b] as const)))
  .filter((direction) => direction.some((part) => part !== 0));

function measure(asked: Lab, rgb: LinearRgb): Fitted {
  return { rgb, deltaE: deltaE2000(asked, linearToLab(rgb)) };
}

function walk(asked: Lab, start: Fitted): Fitted {
  let signal: LinearRgb = [encodeSrgb(start.rgb[0]), encodeSrgb(start.rgb[1]), encodeSrgb(start.rgb[2])];
  let best = start;
  for (let step = FIRST_STEP; step >= LAST_STEP; ) {
    let nearer: { signal: LinearRgb; fitted: Fitted } | null = null;
    for (const [r, g, b] of DIRECTIONS) {
      const next = cut([signal[0] + r * step, signal[1] + g * step, signal[2] + b * step]);
      const fitted = measure(asked, [decodeSrgb(next[0]), decodeSrgb(next[1]), decodeSrgb(next[2])]);
      if (fitted.deltaE < (nearer?.fitted.deltaE ?? best.deltaE)) nearer = { signal: next, fitted };
    }
    if (nearer) {
      signal = nearer.signal;
      best = nearer.fitted;
    } else step /= 2;
  }
  return best;
}

function cut(rgb: LinearRgb): LinearRgb {
  const limit = (value: number) => Math.min(1, Math.max(0, value));
  return [limit(rgb[0]), limit(rgb[1]), limit(rgb[2])];
}

/**
 * Mixes in the smallest share of the grey of equal luminance that brings the colour into the gamut, in linear light.
 */
function reduceChroma(rgb: LinearRgb): LinearRgb {
  const grey = Math.min(1, Math.max(0, luminance(rgb)));
  let share = 0;
  for (const channel of rgb) {
    if (channel < 0 && grey > channel) share = Math.max(share, -channel / (grey - channel));
    if (channel > 1 && channel > grey) share = Math.max(share, (channel - 1) / (channel - grey));
  }
  const mix = (channel: number) => channel + (grey - channel) * share;
  return cut([mix(rgb[0]), mix(rgb[1]), mix(rgb[2])]);
}
