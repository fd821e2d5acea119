/**
 * Rounds a shadow to whole levels, up or down by a pattern, so that a soft gradient shows no steps even when levels are
 * raised. The pattern is fixed to the picture's pixels, which tiles and sums of layers share. Its thresholds are evenly
 * distributed, so the mean level does not change.
 *
 * It is the two-dimensional sequence of Roberts, "The Unreasonable Effectiveness of Quasirandom Sequences" (2018),
 * whose steps are powers of the plastic number, in 32-bit integers. Processors and shaders compute the same values.
 */
const STEP_X = 0xc13fa9a9;
const STEP_Y = 0x91e10da5;

/** Threshold of a pixel, counted from the picture's top left corner: 0–255, in 256ths of a level. */
export function getThreshold(x: number, y: number): number {
  return (Math.imul(x, STEP_X) + Math.imul(y, STEP_Y)) >>> 24;
}

/** The same in GLSL ES 3, at the middle of its 256th: strictly between 0 and 1. */
export const THRESHOLD = /* glsl */ `
float getThreshold( ivec2 pixel ) {
  highp uint mixed = uint( pixel.x ) * ${STEP_X}u + uint( pixel.y ) * ${STEP_Y}u;
  return ( float( mixed >> 24u ) + 0.5 ) / 256.0;
}
`;
