import { describe, expect, it } from 'vitest';
import { integrateSpectrum } from '../../../../server/core/colour/integrate-spectrum.ts';
import { estimateSmoothSpectrum } from '../../../../server/core/colour/smooth-spectrum.ts';
import type { Xyz } from '../../../../server/core/colour/white-points.ts';
import { COLOR_CHECKER } from './color-checker.ts';

describe('estimateSmoothSpectrum', () => {
  it.each(COLOR_CHECKER)('has the XYZ of %s and stays between 0 and 1', (_, values) => {
    const xyz = integrateSpectrum({ startNm: 380, stepNm: 10, values }, 'D65', '10deg');
    const { spectrum, exact } = estimateSmoothSpectrum(xyz, 'D65', '10deg');
    expect(exact).toBe(true);
    expect(Math.min(...spectrum.values)).toBeGreaterThan(0);
    expect(Math.max(...spectrum.values)).toBeLessThan(1);
    integrateSpectrum(spectrum, 'D65', '10deg').forEach((value, i) => {
      expect(Math.abs(value - xyz[i]!)).toBeLessThan(1e-6);
    });
    expect(roughness(spectrum.values)).toBeLessThanOrEqual(roughness(values));
  });

  it('is no surface when it would be lighter than white, or purer than light of one wavelength', () => {
    const bright: Xyz = [100, 105, 112];
    const pure: Xyz = [5, 60, 5];
    for (const xyz of [bright, pure]) {
      const { spectrum, exact } = estimateSmoothSpectrum(xyz, 'D65', '2deg');
      expect(exact).toBe(false);
      expect(Math.max(...spectrum.values)).toBeLessThanOrEqual(1);
      expect(Math.min(...spectrum.values)).toBeGreaterThanOrEqual(0);
    }
  });
});

/** What it makes least: squared steps of the logit. */
function roughness(values: readonly number[]): number {
  const logits = values.map((r) => Math.log(r / (1 - r)));
  return logits.slice(1).reduce((sum, value, i) => sum + (value - logits[i]!) ** 2, 0);
}
