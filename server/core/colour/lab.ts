import {
  ColorSpace,
  deltaE2000 as colorjsDeltaE2000,
  deltaECMC as colorjsDeltaECmc,
  Lab_D65,
  Lab as LabD50,
  sRGB_Linear,
  to,
} from 'colorjs.io/fn';
import { hexToLinear, type LinearRgb } from './srgb.ts';

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
 * Not symmetric: the tolerance grows about the reference. 2:1 judges whether cloth is acceptable, 1:1 whether a difference
 * is seen.
 */
export function deltaECmc(reference: Lab, sample: Lab, l = 2, c = 1): number {
  return colorjsDeltaECmc(
    { space: LabD50, coords: [...reference], alpha: 1 },
    { space: LabD50, coords: [...sample], alpha: 1 },
    { l, c },
  );
}
