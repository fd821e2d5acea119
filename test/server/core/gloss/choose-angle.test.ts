import { describe, expect, it } from 'vitest';
import { chooseAngle, glossTolerance } from '../../../../server/core/gloss/judge-gloss.ts';

describe('the angle to measure at', () => {
  // ASTM D523: 20° above 70 at 60°, 85° below 10
  it.each([
    [0, 85],
    [9.9, 85],
    [10, 60],
    [70, 60],
    [70.1, 20],
    [95, 20],
  ] as const)('for %d GU at 60° is %d°', (gu60, angle) => {
    expect(chooseAngle(gu60)).toBe(angle);
  });
});

describe('the tolerance of gloss', () => {
  // Qualicoat, as quoted in the trade
  it.each([
    [5, 5],
    [30, 5],
    [31, 7],
    [70, 7],
    [71, 10],
    [90, 10],
  ] as const)('at %d GU is ±%d', (gu60, tolerance) => {
    expect(glossTolerance(gu60)).toBe(tolerance);
  });
});
