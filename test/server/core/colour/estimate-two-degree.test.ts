import { describe, expect, it } from 'vitest';
import { estimateTwoDegree, TWO_DEGREE_BAND } from '../../../../server/core/colour/estimate-two-degree.ts';
import { integrateSpectrum } from '../../../../server/core/colour/integrate-spectrum.ts';
import { deltaE2000, type Lab } from '../../../../server/core/colour/lab.ts';
import { xyzToLab } from '../../../../server/core/colour/xyz-lab.ts';
import { ILLUMINANTS } from '../../../../server/core/finish/finish.ts';
import { createRandom } from '../../../support/random.ts';
import { COLOR_CHECKER } from './color-checker.ts';

describe('estimateTwoDegree', () => {
  it.each(ILLUMINANTS)('stays within its band on the 24 patches of a ColorChecker (BabelColor 2012), %s', (light) => {
    const estimated: number[] = [];
    const misread: number[] = [];
    for (const [, values] of COLOR_CHECKER) {
      const spectrum = { startNm: 380, stepNm: 10, values };
      const lab10 = xyzToLab(integrateSpectrum(spectrum, light, '10deg'), light, '10deg');
      const lab2 = xyzToLab(integrateSpectrum(spectrum, light, '2deg'), light, '2deg');
      const estimate = estimateTwoDegree(lab10, light);
      expect(estimate.exact).toBe(true);
      estimated.push(deltaE2000(lab2, estimate.lab2));
      misread.push(deltaE2000(lab2, lab10));
    }
    expect(median(estimated)).toBeLessThan(TWO_DEGREE_BAND.typicalDeltaE);
    expect(Math.max(...estimated)).toBeLessThan(TWO_DEGREE_BAND.worstDeltaE);
    // what it is for: taking 10° figures for 2° ones errs by about 2, up to 6
    expect(median(misread)).toBeGreaterThan(1.9);
    expect(Math.max(...misread)).toBeGreaterThan(5.5);
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

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return (sorted[Math.floor((sorted.length - 1) / 2)]! + sorted[Math.floor(sorted.length / 2)]!) / 2;
}
