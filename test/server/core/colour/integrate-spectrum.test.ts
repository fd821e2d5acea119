import { describe, expect, it } from 'vitest';
import { integrateSpectrum } from '../../../../server/core/colour/integrate-spectrum.ts';
import { deltaE2000 } from '../../../../server/core/colour/lab.ts';
import { encodeSrgb } from '../../../../server/core/colour/srgb.ts';
import { WHITE_POINTS } from '../../../../server/core/colour/white-points.ts';
import { xyzToLab, xyzToLinear } from '../../../../server/core/colour/xyz-lab.ts';
import { ILLUMINANTS, OBSERVERS } from '../../../../server/core/finish/finish.ts';
import { COLOR_CHECKER } from './color-checker.ts';

/** Patch “dark skin” every 5 nm from 380 to 780 nm: N. Ohta 1997, as in colour-science's colour_checkers/sds.py. */
const DARK_SKIN = [
  0.048, 0.051, 0.055, 0.06, 0.065, 0.068, 0.068, 0.067, 0.064, 0.062, 0.059, 0.057, 0.055, 0.054, 0.053, 0.053, 0.052,
  0.052, 0.052, 0.053, 0.054, 0.055, 0.057, 0.059, 0.061, 0.062, 0.065, 0.067, 0.07, 0.072, 0.074, 0.075, 0.076, 0.078,
  0.079, 0.082, 0.087, 0.092, 0.1, 0.107, 0.115, 0.122, 0.129, 0.134, 0.138, 0.142, 0.146, 0.15, 0.154, 0.158, 0.163,
  0.167, 0.173, 0.18, 0.188, 0.196, 0.204, 0.213, 0.222, 0.231, 0.242, 0.251, 0.261, 0.271, 0.282, 0.294, 0.305, 0.318,
  0.334, 0.354, 0.372, 0.392, 0.409, 0.42, 0.436, 0.45, 0.462, 0.465, 0.448, 0.432, 0.421,
];

describe('integrateSpectrum', () => {
  it('takes a patch under D65 to the sRGB that colour-science publishes for it (its examples of graph/conversion)', () => {
    const xyz = integrateSpectrum({ startNm: 380, stepNm: 5, values: DARK_SKIN }, 'D65', '2deg');
    const wanted = [0.45675795, 0.30986982, 0.24861924];
    xyzToLinear(xyz, 'D65').forEach((channel, i) => {
      expect(Math.abs(encodeSrgb(channel) - wanted[i]!)).toBeLessThan(1e-4);
    });
  });

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

  it('reads every 5, 10 and 20 nm, and 400–700 nm, nearly alike', () => {
    // measured: ΔE00 0.084 to 0.085 each, most of it the chart's rounding to three decimals
    const at = (startNm: number, stepNm: number, untilNm: number) => {
      const values = DARK_SKIN.filter((_, i) => {
        const nm = 380 + i * 5;
        return nm >= startNm && nm <= untilNm && (nm - startNm) % stepNm === 0;
      });
      return xyzToLab(integrateSpectrum({ startNm, stepNm, values }, 'D65', '2deg'), 'D65', '2deg');
    };
    const full = at(380, 5, 780);
    expect(deltaE2000(full, at(380, 10, 730))).toBeLessThan(0.1);
    expect(deltaE2000(full, at(400, 10, 700))).toBeLessThan(0.1);
    expect(deltaE2000(full, at(380, 20, 780))).toBeLessThan(0.1);
  });

  it('lets the last reading go on past both ends (ASTM E308)', () => {
    const values = COLOR_CHECKER[13]![1].slice(2, 33);
    const longer = [values[0]!, values[0]!, ...values, values[30]!, values[30]!, values[30]!];
    const short = integrateSpectrum({ startNm: 400, stepNm: 10, values }, 'D65', '10deg');
    const long = integrateSpectrum({ startNm: 380, stepNm: 10, values: longer }, 'D65', '10deg');
    // the cubic bends a little where the level part begins
    short.forEach((value, i) => {
      expect(Math.abs(value - long[i]!)).toBeLessThan(0.01);
    });
  });

  it('passes through a cubic exactly, whatever the step', () => {
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
