import { describe, expect, it } from 'vitest';
import { judgeDifference } from '../../../../server/core/finish/judge-difference.ts';
import { toleranceOf } from '../../../../server/core/finish/tolerances.ts';

describe('a difference is held against the tolerance of its family, by its formula', () => {
  it('coatings: CIELAB, at most 2 (AAMA 2604/2605, as quoted)', () => {
    const paint = toleranceOf('powder-coat');
    expect(judgeDifference([50, 0, 0], [52, 0, 0], paint)).toMatchObject({
      formula: 'ab',
      difference: 2,
      within: true,
    });
    expect(judgeDifference([50, 0, 0], [52.1, 0, 0], paint).within).toBe(false);
    expect(judgeDifference([50, 0, 0], [60, 0, 0], toleranceOf('powder-coat', true)).within).toBeNull();
  });

  it('cloth: CMC(2:1), where lightness counts half (ISO 105-J03)', () => {
    const cloth = toleranceOf('textile');
    const lighter = judgeDifference([50, 30, 0], [51, 30, 0], cloth);
    const redder = judgeDifference([50, 30, 0], [50, 31, 0], cloth);
    expect(lighter.formula).toBe('cmc-2-1');
    // ISO 105-J03: SL = 0.040975·50 / (1 + 0.01765·50) = 1.0882; SC = 0.0638·30 / (1 + 0.0131·30) + 0.638 = 2.0120
    expect(lighter.difference).toBeCloseTo(1 / (2 * 1.0882), 3);
    expect(redder.difference).toBeCloseTo(1 / 2.012, 3);
  });
});
