import { describe, expect, it } from 'vitest';
import type { Lab } from '../../../../server/core/colour/lab.ts';
import { judgeDifference } from '../../../../server/core/finish/judge-difference.ts';
import { toleranceOf } from '../../../../server/core/finish/tolerances.ts';

describe('a difference', () => {
  it('is measured by the formula of the family: CIELAB for coatings, where 3-4-0 makes 5', () => {
    const judged = judgeDifference([50, 0, 0], [53, 4, 0], toleranceOf('paint'));
    expect(judged.difference).toBeCloseTo(5, 12);
    expect(judged.within).toBe(false);
    expect(judgeDifference([50, 0, 0], [50, 2, 0], toleranceOf('paint')).within).toBe(true);
  });

  it('by CIEDE2000 elsewhere: pair 1 of Sharma, Wu and Dalal 2005 is 2.0425 apart', () => {
    const [a, b]: [Lab, Lab] = [
      [50, 2.6772, -79.7751],
      [50, 0, -82.7485],
    ];
    const judged = judgeDifference(a, b, toleranceOf('wood'));
    expect(judged.deltaE00).toBeCloseTo(2.0425, 4);
    expect(judged.difference).toBe(judged.deltaE00);
    expect(judged.within).toBe(false);
  });

  it('by CMC(2:1) for cloth, about the standard: the two ways round differ', () => {
    const grey: Lab = [50, 2, 2];
    const red: Lab = [50, 8, 6];
    const there = judgeDifference(grey, red, toleranceOf('textile'));
    const back = judgeDifference(red, grey, toleranceOf('textile'));
    expect(there.deltaE00).toBeCloseTo(back.deltaE00, 10);
    expect(there.difference).toBeGreaterThan(back.difference);
  });

  it('is told and not judged where the standard leaves the material out', () => {
    expect(judgeDifference([50, 0, 0], [60, 0, 0], toleranceOf('powder-coat', true)).within).toBeNull();
  });
});
