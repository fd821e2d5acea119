import { sobol, vanDerCorput } from './light-directions.ts';

/** Subsamples of a picture: few while editing, sixteen for anything that is kept, sixty-four for what is looked at closely. */
export const SUBSAMPLES = { draft: 4, still: 16, fine: 64 } as const;

export interface Offset {
  /** Shift of the pixel grid, −0.5–0.5 px. */
  readonly x: number;
  readonly y: number;
}

/**
 * Where subsample `index` looks inside the pixel: a (0,2)-sequence, so that the first 4 and the first 16 have one
 * point in each row, each column and each square of the pixel: a slanted edge gets as many levels as there are points.
 */
export function getOffset(index: number): Offset {
  // the middle of the smallest cell of sixteen; the next forty-eight fill the cells around
  const half = index < 16 ? 1 / 32 : 1 / 128;
  return { x: vanDerCorput(index) + half - 0.5, y: sobol(index) + half - 0.5 };
}
