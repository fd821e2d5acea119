import { decodeSrgb, encodeSrgb } from './srgb.ts';

/** Linear light, 0–1, of every 8-bit sRGB code. */
export const LINEAR_CODES: Float64Array = Float64Array.from({ length: 256 }, (_, code) => decodeSrgb(code / 255));

/** Steps of linear light in which codes are looked up: where the sRGB curve is steepest, one is a twentieth of a code. */
const STEPS = 65_535;
const CODES = Uint8Array.from({ length: STEPS + 1 }, (_, i) => Math.round(encodeSrgb(i / STEPS) * 255));

/** The 8-bit sRGB code of linear light, which is cut to 0–1. */
export function toCode(light: number): number {
  return CODES[Math.round(Math.min(1, Math.max(0, light)) * STEPS)]!;
}
