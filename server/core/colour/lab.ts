import { ColorSpace, deltaE2000 as colorjsDeltaE2000, Lab_D65, Lab as LabD50, sRGB_Linear, to } from 'colorjs.io/fn';
import type { LinearRgb } from './srgb.ts';

/** CIE L*a*b*: L 0–100, a and b about ±128. */
export type Lab = readonly [number, number, number];
export type Illuminant = 'D50' | 'D65';

for (const space of [LabD50, Lab_D65, sRGB_Linear]) ColorSpace.register(space);

/**
 * Lab under an illuminant and the 2° observer to linear sRGB, not cut to 0–1.
 * White points are CSS Color 4's (from four-digit xy), adaptation is Bradford.
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
