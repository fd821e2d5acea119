import type { Illuminant, Observer } from '../finish/finish.ts';

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
