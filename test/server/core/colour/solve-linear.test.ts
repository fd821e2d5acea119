import { describe, expect, it } from 'vitest';
import { solveLinear } from '../../../../server/core/colour/solve-linear.ts';

describe('solveLinear', () => {
  it('solves where the first pivot is zero', () => {
    // y = 2, x + y = 5, x + z = 4
    const rows = [
      [0, 1, 0, 2],
      [1, 1, 0, 5],
      [1, 0, 1, 4],
    ];
    solveLinear(rows)!.forEach((value, i) => {
      expect(value).toBeCloseTo([3, 2, 1][i]!, 12);
    });
  });

  it('has no answer where two rows say the same, or a value is no number', () => {
    expect(
      solveLinear([
        [1, 2, 3],
        [2, 4, 6],
      ]),
    ).toBeNull();
    expect(solveLinear([[Number.NaN, 1]])).toBeNull();
  });
});
