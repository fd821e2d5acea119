import { describe, expect, it } from 'vitest';
import { deltaE2000, WHITE_POINTS, xyzToLab } from '../../../../server/core/colour/lab.ts';
import {
  checkSpectrum,
  type GivenSpectrum,
  ILLUMINANT_POWER,
  integrateSpectrum,
  MATCHING_FUNCTIONS,
} from '../../../../server/core/colour/spectrum.ts';
import { ILLUMINANTS, OBSERVERS } from '../../../../server/core/finish/finish.ts';
import { Problem } from '../../../../server/core/problems.ts';
import { createRandom } from '../../../support/random.ts';
import { makeSurface, sampleSurface } from '../../../support/surface-spectra.ts';

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
  it('accepts the ranges and steps that instruments write', () => {
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

  it('keeps the noise of a black and a white slightly over 1', () => {
    expect(checkSpectrum({ ...GOOD, ...withValue(-0.004) }, '').values[12]).toBe(-0.004);
    expect(checkSpectrum({ ...GOOD, ...withValue(1.02) }, '').values[12]).toBe(1.02);
  });

  it.each([null, Number.NaN, Number.POSITIVE_INFINITY])('refuses a gap (%s) and says where it is', (gap) => {
    const problem = refusal(withValue(gap));
    expect(problem.code).toBe('colour-incomplete');
    expect(problem.message).toContain('520 nm');
    expect(problem.more.where).toBe('/colour/spectrum/values/12');
  });

  it('refuses fewer values than the range needs and gives the number', () => {
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

  it('refuses a start that is not a number and a range that no instrument has', () => {
    expect(refusal({ startNm: Number.NaN }).code).toBe('spectrum-unreadable');
    expect(refusal({ startNm: 0, values: new Array<number>(80).fill(0.4) }).code).toBe('spectrum-unreadable');
    expect(refusal({ stepNm: 20 }).code).toBe('spectrum-unreadable');
  });

  it('asks whether the values are percent: over 2 anywhere, or over 1 everywhere', () => {
    for (const given of [withValue(42), { values: new Array<number>(31).fill(1.3) }]) {
      const problem = refusal(given);
      expect(problem.code).toBe('spectrum-unreadable');
      expect(problem.message).toContain('percent');
    }
  });

  it('refuses fluorescent surfaces, and says what to give instead', () => {
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

describe('integrateSpectrum', () => {
  // A surface whose reflectance is the ratio of another illuminant's power to that of D65 shows that illuminant's
  // colour under D65. Chromaticities: CIE 15, as commonly quoted with the illuminants. Power of A: its defining formula
  // (ISO 11664-2).
  it.each([
    ['A', '2deg', 0.44757, 0.40745],
    ['A', '10deg', 0.45117, 0.40594],
    ['E', '2deg', 0.33333, 0.33333],
    ['E', '10deg', 0.33333, 0.33333],
    ['D50', '2deg', 0.34567, 0.3585],
    ['D50', '10deg', 0.34773, 0.35952],
  ] as const)(
    'takes illuminant %s, seen as a surface under D65, to its published chromaticity, %s',
    (name, eye, x, y) => {
      const power: Record<typeof name, (nm: number, row: number) => number> = {
        A: (nm) => ((560 / nm) ** 5 * Math.expm1(1.435e7 / (2848 * 560))) / Math.expm1(1.435e7 / (2848 * nm)),
        E: () => 1,
        D50: (_, row) => ILLUMINANT_POWER.D50[row]!,
      };
      const values = ILLUMINANT_POWER.D65.map((d65, row) => power[name](380 + 5 * row, row) / d65);
      const [X, Y, Z] = integrateSpectrum({ startNm: 380, stepNm: 5, values }, 'D65', eye);
      expect(Math.abs(X / (X + Y + Z) - x)).toBeLessThan(2e-4);
      expect(Math.abs(Y / (X + Y + Z) - y)).toBeLessThan(2e-4);
    },
  );

  it.each(ILLUMINANTS.flatMap((light) => OBSERVERS.map((eye) => [light, eye] as const)))(
    'gives the perfect white and any grey the named white, %s/%s',
    (light, eye) => {
      for (const share of [1, 0.18]) {
        for (const [startNm, stepNm, count] of [
          [380, 10, 36],
          [400, 20, 16],
          [360, 5, 85],
        ] as const) {
          const spectrum = { startNm, stepNm, values: new Array<number>(count).fill(share) };
          integrateSpectrum(spectrum, light, eye).forEach((value, i) => {
            expect(value).toBeCloseTo(share * WHITE_POINTS[light][eye][i]!, 9);
          });
        }
      }
    },
  );

  it('gives nearly the same for steps of 5, 10 and 20 nm, and for 400–700 nm', () => {
    const random = createRandom(308);
    const surfaces = Array.from({ length: 200 }, () => makeSurface(random));
    const differ = (startNm: number, stepNm: number, endNm: number) => {
      const at =
        (...range: [number, number, number]) =>
        (surface: (typeof surfaces)[number]) =>
          xyzToLab(integrateSpectrum(sampleSurface(surface, ...range), 'D65', '2deg'), 'D65', '2deg');
      return Math.max(...surfaces.map((s) => deltaE2000(at(380, 5, 780)(s), at(startNm, stepNm, endNm)(s))));
    };
    // on 2000 such surfaces: at most 0.18, 0.17 and 0.62, and half of them within 0.02
    expect(differ(380, 10, 730)).toBeLessThan(0.2);
    expect(differ(400, 10, 700)).toBeLessThan(0.2);
    expect(differ(380, 20, 780)).toBeLessThan(0.65);
  });

  it('continues the last reading past both ends (ASTM E308)', () => {
    const { values } = sampleSurface(makeSurface(createRandom(13)), 400, 10, 700);
    const longer = [values[0]!, values[0]!, ...values, values[30]!, values[30]!, values[30]!];
    const short = integrateSpectrum({ startNm: 400, stepNm: 10, values }, 'D65', '10deg');
    const long = integrateSpectrum({ startNm: 380, stepNm: 10, values: longer }, 'D65', '10deg');
    // the cubic bends a little where the constant part begins
    short.forEach((value, i) => {
      expect(Math.abs(value - long[i]!)).toBeLessThan(0.01);
    });
  });

  it('interpolates a cubic exactly at any step', () => {
    const curve = (nm: number) => 0.4 + 0.3 * ((nm - 550) / 200) - 0.2 * ((nm - 550) / 200) ** 3;
    const sample = (stepNm: number) => ({
      startNm: 380,
      stepNm,
      values: Array.from({ length: 400 / stepNm + 1 }, (_, i) => curve(380 + i * stepNm)),
    });
    const fine = integrateSpectrum(sample(5), 'D50', '2deg');
    for (const step of [10, 20]) {
      integrateSpectrum(sample(step), 'D50', '2deg').forEach((value, i) => {
        expect(value).toBeCloseTo(fine[i]!, 9);
      });
    }
  });
});

/** Whites of ASTM E308, and the tolerance of sums of 5 nm from 380 to 780 nm: their Z for D65/10° differs by 0.0201. */
const WHITES = [
  ['D65', '2deg', [95.047, 100, 108.883]],
  ['D65', '10deg', [94.811, 100, 107.304]],
  ['D50', '2deg', [96.422, 100, 82.521]],
  ['D50', '10deg', [96.72, 100, 81.427]],
] as const;
const TOLERANCE = 0.021;

describe('CIE tables', () => {
  it.each(WHITES)('give the published white for %s and %s (ASTM E308)', (illuminant, observer, white) => {
    const power = ILLUMINANT_POWER[illuminant];
    const { x, y, z } = MATCHING_FUNCTIONS[observer];
    const sum = (column: readonly number[]) => column.reduce((all, value, i) => all + value * power[i]!, 0);
    const scale = 100 / sum(y);
    [x, y, z].forEach((column, i) => {
      expect(Math.abs(scale * sum(column) - white[i]!), `${'XYZ'[i]}`).toBeLessThan(TOLERANCE);
    });
  });

  it('have a row every 5 nm from 380 to 780 nm', () => {
    for (const power of Object.values(ILLUMINANT_POWER)) expect(power).toHaveLength(81);
    for (const { x, y, z } of Object.values(MATCHING_FUNCTIONS)) {
      for (const column of [x, y, z]) expect(column).toHaveLength(81);
    }
  });

  it('have 100 at 560 nm, as CIE 15 scales illuminants, and the peak of the eye at 555 nm', () => {
    for (const power of Object.values(ILLUMINANT_POWER)) expect(power[36]).toBe(100);
    const { y } = MATCHING_FUNCTIONS['2deg'];
    expect(y.indexOf(Math.max(...y))).toBe(35);
    expect(y[35]).toBe(1);
  });

  it('give the three functions of an observer the same area, as CIE 15 defines them for equal energy', () => {
    for (const { x, y, z } of Object.values(MATCHING_FUNCTIONS)) {
      const area = (column: readonly number[]) => column.reduce((sum, value) => sum + value, 0);
      expect(Math.abs(area(x) / area(y) - 1)).toBeLessThan(5e-4);
      expect(Math.abs(area(z) / area(y) - 1)).toBeLessThan(5e-4);
    }
  });
});
