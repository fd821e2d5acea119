import { describe, expect, it } from 'vitest';
import { ILLUMINANT_POWER, MATCHING_FUNCTIONS } from '../../../../server/core/colour/cie-tables.ts';

/** Whites of ASTM E308 and how far sums of 5 nm from 380 to 780 nm may lie from them: their Z for D65/10° is 0.0201 off. */
const WHITES = [
  ['D65', '2deg', [95.047, 100, 108.883]],
  ['D65', '10deg', [94.811, 100, 107.304]],
  ['D50', '2deg', [96.422, 100, 82.521]],
  ['D50', '10deg', [96.72, 100, 81.427]],
] as const;
const TOLERANCE = 0.021;

describe('CIE tables', () => {
  it.each(WHITES)('%s seen by %s is the published white (ASTM E308)', (illuminant, observer, white) => {
    const power = ILLUMINANT_POWER[illuminant];
    const { x, y, z } = MATCHING_FUNCTIONS[observer];
    const sum = (column: readonly number[]) => column.reduce((all, value, i) => all + value * power[i]!, 0);
    const scale = 100 / sum(y);
    [x, y, z].forEach((column, i) => {
      expect(Math.abs(scale * sum(column) - white[i]!), `${'XYZ'[i]}`).toBeLessThan(TOLERANCE);
    });
  });

  it('has a row every 5 nm from 380 to 780 nm', () => {
    for (const power of Object.values(ILLUMINANT_POWER)) expect(power).toHaveLength(81);
    for (const { x, y, z } of Object.values(MATCHING_FUNCTIONS)) {
      for (const column of [x, y, z]) expect(column).toHaveLength(81);
    }
  });

  it('has 100 at 560 nm, as CIE 15 scales illuminants, and the peak of the eye at 555 nm', () => {
    for (const power of Object.values(ILLUMINANT_POWER)) expect(power[36]).toBe(100);
    const { y } = MATCHING_FUNCTIONS['2deg'];
    expect(y.indexOf(Math.max(...y))).toBe(35);
    expect(y[35]).toBe(1);
  });

  it('gives the three functions of an observer the same area, as CIE 15 defines them for equal energy', () => {
    for (const { x, y, z } of Object.values(MATCHING_FUNCTIONS)) {
      const area = (column: readonly number[]) => column.reduce((sum, value) => sum + value, 0);
      expect(Math.abs(area(x) / area(y) - 1)).toBeLessThan(5e-4);
      expect(Math.abs(area(z) / area(y) - 1)).toBeLessThan(5e-4);
    }
  });
});
