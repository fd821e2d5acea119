import { ColorSpace, sRGB_Linear, to, XYZ_D50, XYZ_D65 } from 'colorjs.io/fn';
import type { Illuminant, Observer } from '../finish/finish.ts';
import type { Lab } from './lab.ts';
import type { LinearRgb } from './srgb.ts';

for (const space of [XYZ_D65, XYZ_D50, sRGB_Linear]) ColorSpace.register(space);

/** ε and κ of CIE 15 as exact fractions, so that the curve has no step where its two parts meet. */
const EPSILON = 216 / 24389;
const KAPPA = 24389 / 27;

/** XYZ (Y of the white is 100) to L*a*b* by the white of illuminant and observer (CIE 15). */
export function xyzToLab(xyz: Xyz, illuminant: Illuminant, observer: Observer): Lab {
  const white = WHITE_POINTS[illuminant][observer];
  const bend = (ratio: number) => (ratio > EPSILON ? Math.cbrt(ratio) : (KAPPA * ratio + 16) / 116);
  const fx = bend(xyz[0] / white[0]);
  const fy = bend(xyz[1] / white[1]);
  const fz = bend(xyz[2] / white[2]);
  return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)];
}

/** L*a*b* to XYZ (Y of the white is 100) by the white of illuminant and observer (CIE 15). */
export function labToXyz([l, a, b]: Lab, illuminant: Illuminant, observer: Observer): Xyz {
  const white = WHITE_POINTS[illuminant][observer];
  const straighten = (f: number) => (f ** 3 > EPSILON ? f ** 3 : (116 * f - 16) / KAPPA);
  const fy = (l + 16) / 116;
  return [straighten(fy + a / 500) * white[0], straighten(fy) * white[1], straighten(fy - b / 200) * white[2]];
}

/** XYZ of the 2° observer (Y of the white is 100) to linear sRGB, not cut to 0–1; from D50 by Bradford. */
export function xyzToLinear(xyz: Xyz, illuminant: Illuminant): LinearRgb {
  const space = illuminant === 'D50' ? XYZ_D50 : XYZ_D65;
  const { coords } = to({ space, coords: [xyz[0] / 100, xyz[1] / 100, xyz[2] / 100], alpha: 1 }, sRGB_Linear);
  return [coords[0] ?? 0, coords[1] ?? 0, coords[2] ?? 0];
}

/** CIE XYZ; Y of the perfect white is 100. */
export type Xyz = readonly [number, number, number];

/** XYZ of the white of chromaticity x, y. */
function whiteOf(x: number, y: number): Xyz {
  return [(100 * x) / y, 100, (100 * (1 - x - y)) / y];
}

/**
 * The one family of whites, Y = 100: for 2° those of CSS Color 4 (four-digit xy, as the rest of the colour room has
 * them); for 10° those of ASTM E308.
 */
export const WHITE_POINTS: Readonly<Record<Illuminant, Readonly<Record<Observer, Xyz>>>> = {
  D65: { '2deg': whiteOf(0.3127, 0.329), '10deg': [94.811, 100, 107.304] },
  D50: { '2deg': whiteOf(0.3457, 0.3585), '10deg': [96.72, 100, 81.427] },
};
