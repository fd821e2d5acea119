import { describe, expect, it } from 'vitest';
import { deltaE2000, type Lab, linearToLab } from '../../../../server/core/colour/lab.ts';
import { hexToLinear } from '../../../../server/core/colour/srgb.ts';
import { SHARMA_2005 } from './sharma-2005.ts';

/** The table is printed to four decimals. */
const PRINTED = 1e-4;

describe('CIEDE2000', () => {
  it('knows all 34 pairs', () => {
    expect(SHARMA_2005).toHaveLength(34);
  });

  // Sharma, Wu, Dalal 2005, Table 1; kL = kC = kH = 1
  it.each(SHARMA_2005.map((row, index) => [index + 1, row] as const))(
    'pair %i of Table 1, both ways round',
    (_, row) => {
      const a: Lab = [row[0], row[1], row[2]];
      const b: Lab = [row[3], row[4], row[5]];
      expect(Math.abs(deltaE2000(a, b) - row[6])).toBeLessThanOrEqual(PRINTED);
      expect(Math.abs(deltaE2000(b, a) - row[6])).toBeLessThanOrEqual(PRINTED);
    },
  );

  // computed from the formula of the same paper: white to black is 100, and a colour to itself 0
  it('spans 100 from black to white and 0 from a colour to itself', () => {
    const lab = (hex: string) => linearToLab(hexToLinear(hex));
    expect(deltaE2000(lab('#ffffff'), lab('#000000'))).toBeCloseTo(100, 3);
    expect(deltaE2000(lab('#2f5d73'), lab('#2f5d73'))).toBe(0);
    // computed beforehand with an independent implementation of the formula
    expect(deltaE2000(lab('#ff0000'), lab('#00ff00'))).toBeCloseTo(86.6078, 3);
  });
});
