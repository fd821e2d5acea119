import { describe, expect, it } from 'vitest';
import {
  coatRoughnessFromGloss,
  FIT_ERROR,
  glossFromCoat,
  glossFromRoughness,
  KNOT_STEP,
  roughnessFromGloss,
  SPECULAR_SHARES,
  tabulateShares,
} from '../../../../server/core/gloss/gloss-fit.ts';
import { GLOSS_ANGLES, integrateGloss } from '../../../../server/core/gloss/gloss-integral.ts';

const GREY = { ior: 1.5, luminance: 0.2 };

describe('the stored table', () => {
  it.each(GLOSS_ANGLES)('equals the integral at %d°, to its six digits', (angle) => {
    const shares = tabulateShares(angle);
    expect(SPECULAR_SHARES[angle]).toHaveLength(shares.length);
    shares.forEach((share, index) => {
      // one unit of the last digit, since the last bit of sines differs between machines
      expect(Math.abs(SPECULAR_SHARES[angle][index]! / share - 1)).toBeLessThan(1e-5);
    });
  });

  it.each(GLOSS_ANGLES)('starts at the mirror and falls at %d°', (angle) => {
    const shares = SPECULAR_SHARES[angle];
    expect(shares[0]).toBe(1);
    expect(shares).toHaveLength(1 + Math.round(1 / KNOT_STEP));
    expect(shares.every((share, index) => index === 0 || share < shares[index - 1]!)).toBe(true);
  });
});

describe('the fit', () => {
  // between the knots and on them, including the places of the largest errors (roughness 0.07, 0.1, 0.14)
  const roughnesses = [0, 0.01, 0.03, 0.05, 0.07, 0.1, 0.107, 0.14, 0.17, 0.23, 0.31, 0.45, 0.6, 0.85, 1];

  it.each(GLOSS_ANGLES)('stays within its stated error against the integral at %d°', (angle) => {
    for (const [ior, luminance, most] of [
      [1.3, 0, FIT_ERROR.gu],
      [1.5, 1, FIT_ERROR.gu],
      [1.6, 1, FIT_ERROR.gu],
      [2.5, 1, FIT_ERROR.guAnyIor],
    ] as const) {
      for (const roughness of roughnesses) {
        const exact = integrateGloss({ ior, luminance, roughness }, angle);
        expect(Math.abs(glossFromRoughness(roughness, angle, { ior, luminance }) - exact)).toBeLessThan(most);
      }
    }
  });

  it.each(GLOSS_ANGLES)('stays within its stated error for a clearcoat at %d°', (angle) => {
    for (const factor of [0.5, 1]) {
      for (const roughness of roughnesses) {
        const clearcoat = { factor, roughness };
        const exact = integrateGloss({ ...GREY, roughness: 0.4, clearcoat }, angle);
        const fitted = glossFromCoat(roughness, angle, { ...GREY, roughness: 0.4, factor });
        expect(Math.abs(fitted - exact)).toBeLessThan(FIT_ERROR.coatGu);
      }
    }
  });

  it.each(GLOSS_ANGLES)('falls strictly with roughness at %d°', (angle) => {
    let last = Number.POSITIVE_INFINITY;
    for (let step = 0; step <= 1000; step += 1) {
      const gu = glossFromRoughness(step / 1000, angle, GREY);
      // very near the mirror, a thousandth of roughness is below the last digit
      if (step > 5) expect(gu).toBeLessThan(last);
      else expect(gu).toBeLessThanOrEqual(last);
      last = gu;
    }
  });
});

describe('roughness from gloss', () => {
  it.each(GLOSS_ANGLES)('is the inverse of gloss from roughness at %d°', (angle) => {
    for (const ground of [GREY, { ior: 1.7, luminance: 0 }, { ior: 1.33, luminance: 1 }]) {
      for (let step = 5; step <= 100; step += 1) {
        const gu = glossFromRoughness(step / 100, angle, ground);
        expect(roughnessFromGloss(gu, angle, ground).roughness).toBeCloseTo(step / 100, 6);
      }
    }
  });

  it('returns the reading through the integral within the error of the fit', () => {
    for (const gu of [2, 10, 30, 70, 85]) {
      const { roughness } = roughnessFromGloss(gu, 60, GREY);
      expect(Math.abs(integrateGloss({ ...GREY, roughness }, 60) - gu)).toBeLessThan(FIT_ERROR.gu);
    }
  });

  // the mirror of index 1.5 is 89.2 at 60°, and a ground of Y 0.2 adds a fifth of 2.9
  it('stops at the mirror, and at the gloss of full roughness', () => {
    const above = roughnessFromGloss(95, 60, GREY);
    expect(above).toMatchObject({ roughness: 0, reachable: false });
    expect(above.limitGu).toBeCloseTo(89.2 + 0.2 * 2.94, 1);
    const below = roughnessFromGloss(1, 60, { ior: 1.5, luminance: 1 });
    expect(below).toMatchObject({ roughness: 1, reachable: false });
    expect(below.limitGu).toBeCloseTo(3.05, 1);
    expect(roughnessFromGloss(30, 60, GREY)).toMatchObject({ reachable: true, limitGu: above.limitGu });
    expect(roughnessFromGloss(above.limitGu, 60, GREY)).toMatchObject({ roughness: 0, reachable: true });
  });

  it('first subtracts the ground that is visible through a clearcoat', () => {
    const ground = { ...GREY, roughness: 0.5, factor: 1 };
    const fitted = coatRoughnessFromGloss(35, 60, ground);
    expect(glossFromCoat(fitted.roughness, 60, ground)).toBeCloseTo(35, 6);
    expect(fitted.roughness).toBeGreaterThan(roughnessFromGloss(35, 60, GREY).roughness);
  });

  it.each([-1, Number.NaN, Number.POSITIVE_INFINITY])('is refused for a reading of %d', (gu) => {
    expect(() => roughnessFromGloss(gu, 60, GREY)).toThrow(expect.objectContaining({ code: 'gloss-incomplete' }));
  });
});
