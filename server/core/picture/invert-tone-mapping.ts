import type { LinearRgb } from '../colour/srgb.ts';

/** The curve compresses from here. */
const START = 0.76;

/** The curve subtracts up to this much from every colour: the 4 % that a dielectric mirrors. */
const OFFSET = 0.04;

/** How fast compressed colours turn white. */
const DESATURATION = 0.15;

/**
 * The inverse of the Khronos PBR Neutral tone curve: finds the light that gives the shown colour. The specification
 * leaves the inverse to the reader. Exact except for the rounding of the shown colour. Near white, a rounding step is
 * five times as large before the curve.
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

/** Restores the range and saturation of highlights. */
function expand(shown: LinearRgb): LinearRgb {
  const peak = Math.max(...shown);
  if (peak < START) return shown;
  const room = 1 - START;
  const before = (room * room) / (1 - peak) - room + START;
  const white = 1 - 1 / (DESATURATION * (before - peak) + 1);
  return shown.map((value) => (((value - white * peak) / (1 - white)) * before) / peak) as unknown as LinearRgb;
}
