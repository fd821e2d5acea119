import { describe, expect, it } from 'vitest';
import { encodeSrgb, LINEAR_CODES, toCode } from '../../../../server/core/colour/srgb.ts';

// IEC 61966-2-1, by the core's own functions, which are held against published values in test/server/core/colour
describe('codes of linear light', () => {
  it('come back, all 256', () => {
    expect([...LINEAR_CODES].map(toCode)).toEqual([...LINEAR_CODES.keys()]);
  });

  it('are within a fortieth of a code of the curve, and cut at its ends', () => {
    for (let i = 0; i <= 10_000; i++) {
      expect(Math.abs(toCode(i / 10_000) - encodeSrgb(i / 10_000) * 255)).toBeLessThanOrEqual(0.5 + 1 / 39);
    }
    expect([toCode(-0.1), toCode(1.1)]).toEqual([0, 255]);
  });
});
