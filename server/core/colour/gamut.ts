import { deltaE2000, linearToLab } from './lab.ts';
import { type LinearRgb, luminance } from './srgb.ts';

export interface Fitted {
  /** Linear RGB, each channel 0–1. */
  readonly rgb: LinearRgb;
  /** CIEDE2000 between what was asked and what can be shown; 0 when nothing was changed. */
  readonly deltaE: number;
}

/** Rounding of a matrix there and back; less than this outside 0–1 is not a colour outside the gamut. */
const ROUNDING = 1e-6;

/**
 * Brings a colour into sRGB, and says how far it had to go.
 * Reduces chroma towards the grey of the same lightness until the channels fit, then takes whichever is nearer by
 * ΔE00: that, or plain cutting. Never silent: the distance is returned.
 */
export function fitToGamut(rgb: LinearRgb): Fitted {
  if (rgb.every((c) => c >= -ROUNDING && c <= 1 + ROUNDING)) return { rgb: cut(rgb), deltaE: 0 };
  const asked = linearToLab(rgb);
  const candidates = [cut(rgb), reduceChroma(rgb)];
  const measured = candidates.map((candidate) => ({
    rgb: candidate,
    deltaE: deltaE2000(asked, linearToLab(candidate)),
  }));
  return measured.reduce((best, next) => (next.deltaE < best.deltaE ? next : best));
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
