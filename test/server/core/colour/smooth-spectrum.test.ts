import { describe, expect, it } from 'vitest';
import { integrateSpectrum } from '../../../../server/core/colour/integrate-spectrum.ts';
import { estimateSmoothSpectrum } from '../../../../server/core/colour/smooth-spectrum.ts';
import type { Xyz } from '../../../../server/core/colour/xyz-lab.ts';
import { createRandom } from '../../../support/random.ts';
import { makeSurface, sampleSurface } from '../../../support/surface-spectra.ts';

describe('estimateSmoothSpectrum', () => {
  it('has the XYZ of a surface, stays between 0 and 1, and is no rougher than it', () => {
    const random = createRandom(1931);
    for (let i = 0; i < 200; i++) {
      const surface = sampleSurface(makeSurface(random));
      const xyz = integrateSpectrum(surface, 'D65', '10deg');
      const { spectrum, exact } = estimateSmoothSpectrum(xyz, 'D65', '10deg');
      expect(exact).toBe(true);
      expect(Math.min(...spectrum.values)).toBeGreaterThan(0);
      expect(Math.max(...spectrum.values)).toBeLessThan(1);
      integrateSpectrum(spectrum, 'D65', '10deg').forEach((value, k) => {
        expect(Math.abs(value - xyz[k]!)).toBeLessThan(1e-6);
      });
      expect(roughness(spectrum.values)).toBeLessThanOrEqual(roughness(surface.values) + 1e-9);
    }
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
