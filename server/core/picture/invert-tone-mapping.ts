import type { LinearRgb } from '../colour/srgb.ts';

/** Where the curve begins to compress. */
const START = 0.76;

/** What it takes off every colour that has so much in its least channel: the 4 % a dielectric mirrors. */
const OFFSET = 0.04;

/** How fast what is compressed goes to white. */
const DESATURATION = 0.15;

/**
 * The light that Khronos PBR Neutral turns into what is shown: the curve's inverse, which the specification leaves to the
 * reader. Exact but for the rounding of what is shown, which near white counts for five times as much before the curve.
 * @param shown linear RGB, each channel 0 to less than 1
 * @returns linear RGB ≥ 0 after exposure
 * @see https://github.com/KhronosGroup/ToneMapping/tree/main/PBR_Neutral
 */
export function invertToneMapping(shown: LinearRgb): LinearRgb {
  const rgb = expand(shown);
  const least = Math.max(0, Math.min(...rgb));
  const offset = least < OFFSET ? Math.sqrt(least / 6.25) - least : OFFSET;
  return rgb.map((value) => value + offset) as unknown as LinearRgb;
}

/** Gives highlights their range and saturation back. */
function expand(shown: LinearRgb): LinearRgb {
  const peak = Math.max(...shown);
  if (peak < START) return shown;
  const room = 1 - START;
  const before = (room * room) / (1 - peak) - room + START;
  const white = 1 - 1 / (DESATURATION * (before - peak) + 1);
  return shown.map((value) => (((value - white * peak) / (1 - white)) * before) / peak) as unknown as LinearRgb;
}
