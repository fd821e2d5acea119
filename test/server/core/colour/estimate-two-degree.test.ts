import { describe, expect, it } from 'vitest';
import { estimateTwoDegree, TWO_DEGREE_BAND } from '../../../../server/core/colour/estimate-two-degree.ts';
import { integrateSpectrum } from '../../../../server/core/colour/integrate-spectrum.ts';
import { deltaE2000, type Lab } from '../../../../server/core/colour/lab.ts';
import { xyzToLab } from '../../../../server/core/colour/xyz-lab.ts';
import { ILLUMINANTS } from '../../../../server/core/finish/finish.ts';
import { createRandom } from '../../../support/random.ts';
import { makeSurface, sampleSurface } from '../../../support/surface-spectra.ts';

describe('estimateTwoDegree', () => {
  it.each(ILLUMINANTS)('keeps its band on smooth surfaces whose colour is known for both observers, %s', (light) => {
    const random = createRandom(77);
    const estimated: number[] = [];
    const misread: number[] = [];
    for (let i = 0; i < 2000; i++) {
      const spectrum = sampleSurface(makeSurface(random));
      const lab10 = xyzToLab(integrateSpectrum(spectrum, light, '10deg'), light, '10deg');
      const lab2 = xyzToLab(integrateSpectrum(spectrum, light, '2deg'), light, '2deg');
      const estimate = estimateTwoDegree(lab10, light);
      expect(estimate.exact).toBe(true);
      estimated.push(deltaE2000(lab2, estimate.lab2));
      misread.push(deltaE2000(lab2, lab10));
    }
    expect(share(estimated, 0.5)).toBeLessThan(TWO_DEGREE_BAND.typicalDeltaE);
    expect(share(estimated, 0.95)).toBeLessThan(TWO_DEGREE_BAND.worstDeltaE);
    // what it is for: taking 10° figures for 2° ones errs by about 2, and by 5 for one in twenty
    expect(share(misread, 0.5)).toBeGreaterThan(1.9);
    expect(share(misread, 0.95)).toBeGreaterThan(4.7);
  });

  it.each(ILLUMINANTS)('leaves greys grey, from black to white, %s', (light) => {
    for (const lightness of [0, 0.2, 1, 9, 50, 95, 99.9, 100]) {
      const { lab2, exact } = estimateTwoDegree([lightness, 0, 0], light);
      expect(exact, `L* ${lightness}`).toBe(true);
      [lightness, 0, 0].forEach((value, i) => {
        expect(Math.abs(lab2[i]! - value), `L* ${lightness}: ${lab2}`).toBeLessThan(1e-5);
      });
    }
  });

  it('says so when no surface has the colour, and still gives something near', () => {
    for (const lab of [
      [50, -160, 90],
      [97, 60, 60],
      [20, 90, -140],
      [104, 0, 0],
    ] as const) {
      const { lab2, exact } = estimateTwoDegree(lab, 'D65');
      expect(exact, `${lab}`).toBe(false);
      expect(deltaE2000(lab, lab2), `${lab} to ${lab2}`).toBeLessThan(12);
    }
  });

  it('answers every Lab with numbers, and the same twice', () => {
    const random = createRandom(2019);
    for (let i = 0; i < 60; i++) {
      const lab: Lab = [random.next() * 100, random.next() * 300 - 150, random.next() * 300 - 150];
      const once = estimateTwoDegree(lab, 'D65');
      expect(once.lab2.every(Number.isFinite), `${lab}`).toBe(true);
      expect(estimateTwoDegree(lab, 'D65')).toEqual(once);
    }
  });
});

/** The value that this share of all does not exceed. */
function share(values: readonly number[], of: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor((sorted.length - 1) * of)]!;
}
