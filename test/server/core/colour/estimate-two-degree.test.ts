import { describe, expect, it } from 'vitest';
import {
  estimateSmoothSpectrum,
  estimateTwoDegree,
  solveLinear,
  TWO_DEGREE_BAND,
} from '../../../../server/core/colour/estimate-two-degree.ts';
import { deltaE2000, type Lab, type Xyz, xyzToLab } from '../../../../server/core/colour/lab.ts';
import { integrateSpectrum } from '../../../../server/core/colour/spectrum.ts';
import { ILLUMINANTS } from '../../../../server/core/finish/finish.ts';
import { createRandom } from '../../../support/random.ts';
import { makeSurface, sampleSurface } from '../../../support/surface-spectra.ts';

describe('estimateTwoDegree', () => {
  it.each(ILLUMINANTS)(
    'stays within its band on smooth surfaces with a known colour for both observers, %s',
    (light) => {
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
      // the purpose: reading 10° figures as 2° has an error of about 2, and of 5 for one in twenty
      expect(share(misread, 0.5)).toBeGreaterThan(1.9);
      expect(share(misread, 0.95)).toBeGreaterThan(4.7);
    },
  );

  it.each(ILLUMINANTS)('keeps greys grey, from black to white, %s', (light) => {
    for (const lightness of [0, 0.2, 1, 9, 50, 95, 99.9, 100]) {
      const { lab2, exact } = estimateTwoDegree([lightness, 0, 0], light);
      expect(exact, `L* ${lightness}`).toBe(true);
      [lightness, 0, 0].forEach((value, i) => {
        expect(Math.abs(lab2[i]! - value), `L* ${lightness}: ${lab2}`).toBeLessThan(1e-5);
      });
    }
  });

  it('says when no surface has the colour, and still gives one near it', () => {
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

  it('gives numbers for every Lab, and the same ones each time', () => {
    const random = createRandom(2019);
    for (let i = 0; i < 60; i++) {
      const lab: Lab = [random.next() * 100, random.next() * 300 - 150, random.next() * 300 - 150];
      const once = estimateTwoDegree(lab, 'D65');
      expect(once.lab2.every(Number.isFinite), `${lab}`).toBe(true);
      expect(estimateTwoDegree(lab, 'D65')).toEqual(once);
    }
  });
});

/** The value that this share of all values does not exceed. */
function share(values: readonly number[], of: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor((sorted.length - 1) * of)]!;
}

describe('estimateSmoothSpectrum', () => {
  it('has the XYZ of a surface, stays between 0 and 1, and is no rougher than the surface', () => {
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

  it('is not a surface when it is lighter than white, or purer than light of one wavelength', () => {
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

/** The value that the search minimises: squared steps of the logit. */
function roughness(values: readonly number[]): number {
  const logits = values.map((r) => Math.log(r / (1 - r)));
  return logits.slice(1).reduce((sum, value, i) => sum + (value - logits[i]!) ** 2, 0);
}

describe('solveLinear', () => {
  it('solves where the first pivot is zero', () => {
    // y = 2, x + y = 5, x + z = 4
    const rows = [
      [0, 1, 0, 2],
      [1, 1, 0, 5],
      [1, 0, 1, 4],
    ];
    solveLinear(rows)!.forEach((value, i) => {
      expect(value).toBeCloseTo([3, 2, 1][i]!, 12);
    });
  });

  it('has no answer where two rows are the same, or a value is not a number', () => {
    expect(
      solveLinear([
        [1, 2, 3],
        [2, 4, 6],
      ]),
    ).toBeNull();
    expect(solveLinear([[Number.NaN, 1]])).toBeNull();
  });
});
