import { describe, expect, it } from 'vitest';
import { checkSpectrum, type GivenSpectrum } from '../../../../server/core/colour/check-spectrum.ts';
import { Problem } from '../../../../server/core/problems.ts';

const GOOD: GivenSpectrum = { startNm: 400, stepNm: 10, values: new Array<number>(31).fill(0.4) };

function refusal(given: Partial<GivenSpectrum>): Problem {
  try {
    checkSpectrum({ ...GOOD, ...given }, '/colour/spectrum');
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

function withValue(value: number | null, at = 12): { values: (number | null)[] } {
  return { values: GOOD.values.map((given, i) => (i === at ? value : given)) };
}

describe('checkSpectrum', () => {
  it('takes the ranges and steps that instruments write', () => {
    for (const [startNm, stepNm, count] of [
      [380, 10, 36],
      [400, 10, 31],
      [400, 20, 16],
      [360, 5, 85],
      [360, 20, 22],
    ] as const) {
      const spectrum = { startNm, stepNm, values: new Array<number>(count).fill(0.4) };
      expect(checkSpectrum(spectrum, '')).toEqual(spectrum);
    }
  });

  it('keeps the noise of a black and a white just over 1', () => {
    expect(checkSpectrum({ ...GOOD, ...withValue(-0.004) }, '').values[12]).toBe(-0.004);
    expect(checkSpectrum({ ...GOOD, ...withValue(1.02) }, '').values[12]).toBe(1.02);
  });

  it.each([null, Number.NaN, Number.POSITIVE_INFINITY])('refuses a gap (%s) and says where', (gap) => {
    const problem = refusal(withValue(gap));
    expect(problem.code).toBe('colour-incomplete');
    expect(problem.message).toContain('520 nm');
    expect(problem.more.where).toBe('/colour/spectrum/values/12');
  });

  it('refuses fewer values than the range needs and says how many it takes', () => {
    const problem = refusal({ values: new Array<number>(30).fill(0.4) });
    expect(problem.code).toBe('colour-incomplete');
    expect(problem.message).toContain('30 values');
    expect(problem.message).toContain('31 values');
    expect(refusal({ values: [] }).code).toBe('colour-incomplete');
  });

  it('refuses a start after 400 nm', () => {
    const problem = refusal({ startNm: 420 });
    expect(problem.code).toBe('colour-incomplete');
    expect(problem.more.where).toBe('/colour/spectrum/startNm');
  });

  it.each([1, 7, 0, -10, Number.NaN])('refuses steps of %s nm', (stepNm) => {
    expect(refusal({ stepNm }).code).toBe('spectrum-unreadable');
  });

  it('refuses a start that is no number and a range no instrument has', () => {
    expect(refusal({ startNm: Number.NaN }).code).toBe('spectrum-unreadable');
    expect(refusal({ startNm: 0, values: new Array<number>(80).fill(0.4) }).code).toBe('spectrum-unreadable');
    expect(refusal({ stepNm: 20 }).code).toBe('spectrum-unreadable');
  });

  it('asks whether it is percent: over 2 anywhere, or over 1 everywhere', () => {
    for (const given of [withValue(42), { values: new Array<number>(31).fill(1.3) }]) {
      const problem = refusal(given);
      expect(problem.code).toBe('spectrum-unreadable');
      expect(problem.message).toContain('percent');
    }
  });

  it('refuses what fluoresces, with what to give instead', () => {
    const problem = refusal(withValue(1.6));
    expect(problem.code).toBe('spectrum-unreadable');
    expect(problem.message).toContain('fluorescent');
    expect(problem.message).toContain('Lab');
  });

  it('refuses negative reflectance', () => {
    const problem = refusal(withValue(-0.02));
    expect(problem.code).toBe('spectrum-unreadable');
    expect(problem.message).toContain('-0.02 at 520 nm');
  });
});
