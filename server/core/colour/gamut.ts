import { deltaE2000, type Lab, linearToLab } from './lab.ts';
import { decodeSrgb, encodeSrgb, type LinearRgb, luminance } from './srgb.ts';

export interface Fitted {
  /** Linear RGB, each channel 0–1. */
  readonly rgb: LinearRgb;
  /** CIEDE2000 between what was asked and what can be shown; 0 when nothing was changed. */
  readonly deltaE: number;
}

/** Rounding of a matrix there and back; less than this outside 0–1 is not a colour outside the gamut. */
const ROUNDING = 1e-6;
/** First and last step of the search, in sRGB signal 0–1: from a sixteenth of the range to a tenth of a code. */
const FIRST_STEP = 1 / 16;
const LAST_STEP = 1 / 2500;

/**
 * The sRGB colour nearest to one, by ΔE00, and how far away it is; never silent about the distance.
 * Starts at the nearer of two guesses (cutting the channels; taking chroma out at equal luminance) and walks downhill
 * inside the cube along the channels, the three pairs of channels and the greys, halving its step when nothing is nearer.
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

/** Mixes with the grey of equal luminance, in linear light: the smallest share of grey that fits. */
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
