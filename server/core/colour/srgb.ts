/** Linear-light RGB in BT.709 primaries, each channel 0–1; glTF's `baseColorFactor` is in this space. */
export type LinearRgb = readonly [number, number, number];

const HEX = /^#[0-9a-f]{6}$/i;

export function isHex(text: string): boolean {
  return HEX.test(text);
}

/** Decodes one sRGB channel, 0–1 in and out (IEC 61966-2-1). */
export function decodeSrgb(value: number): number {
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
}

/** Encodes one linear channel, 0–1 in and out (IEC 61966-2-1). */
export function encodeSrgb(value: number): number {
  return value <= 0.0031308 ? 12.92 * value : 1.055 * value ** (1 / 2.4) - 0.055;
}

/** Converts `#rrggbb` to linear light. The caller has checked the form with `isHex`. */
export function hexToLinear(hex: string): LinearRgb {
  const number = Number.parseInt(hex.slice(1), 16);
  return [decodeSrgb((number >> 16) / 255), decodeSrgb(((number >> 8) & 255) / 255), decodeSrgb((number & 255) / 255)];
}

/**
 * Converts linear light to `#rrggbb`. It rounds: truncating loses 11 of the 256 levels in a round trip, white among
 * them.
 * Channels outside 0–1 are clamped; `fitToGamut` gives the distance.
 */
export function linearToHex(rgb: LinearRgb): string {
  const codes = rgb.map((channel) => Math.round(encodeSrgb(Math.min(1, Math.max(0, channel))) * 255));
  return `#${codes.map((code) => code.toString(16).padStart(2, '0')).join('')}`;
}

/** Relative luminance of linear RGB, 0–1. */
export function luminance([r, g, b]: LinearRgb): number {
  return 0.2126390059 * r + 0.7151686788 * g + 0.0721923154 * b;
}

/** Linear light, 0–1, of every 8-bit sRGB code. */
export const LINEAR_CODES: Float64Array = Float64Array.from({ length: 256 }, (_, code) => decodeSrgb(code / 255));

/** Steps of linear light in the lookup table. Where the sRGB curve is steepest, one step is a twentieth of a code. */
const STEPS = 65_535;
const CODES = Uint8Array.from({ length: STEPS + 1 }, (_, i) => Math.round(encodeSrgb(i / STEPS) * 255));

/** The 8-bit sRGB code of linear light, which is clamped to 0–1. */
export function toCode(light: number): number {
  return CODES[Math.round(Math.min(1, Math.max(0, light)) * STEPS)]!;
}
