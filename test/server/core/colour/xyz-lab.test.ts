import { converter } from 'culori';
import { describe, expect, it } from 'vitest';
import { type Lab, labToLinear } from '../../../../server/core/colour/lab.ts';
import { labToXyz, WHITE_POINTS, xyzToLab, xyzToLinear } from '../../../../server/core/colour/xyz-lab.ts';
import { ILLUMINANTS, OBSERVERS } from '../../../../server/core/finish/finish.ts';
import { createRandom } from '../../../support/random.ts';

const VIEWINGS = ILLUMINANTS.flatMap((light) => OBSERVERS.map((eye) => [light, eye] as const));

describe('XYZ and Lab', () => {
  it.each(VIEWINGS)('goes there and back under %s/%s, white and black included', (light, eye) => {
    const random = createRandom(1976);
    const labs: Lab[] = [
      [100, 0, 0],
      [0, 0, 0],
      [4, 1, -2],
    ];
    for (let i = 0; i < 1000; i++) labs.push([random.next() * 100, random.next() * 160 - 80, random.next() * 160 - 80]);
    let worst = 0;
    for (const lab of labs) {
      const back = xyzToLab(labToXyz(lab, light, eye), light, eye);
      worst = Math.max(worst, ...back.map((value, i) => Math.abs(value - lab[i]!)));
    }
    expect(worst).toBeLessThan(1e-9);
    labToXyz([100, 0, 0], light, eye).forEach((value, i) => {
      expect(value).toBeCloseTo(WHITE_POINTS[light][eye][i]!, 10);
    });
  });

  it('has the whites of ASTM E308 for 10° and of CSS Color 4 for 2°', () => {
    expect(WHITE_POINTS.D65['10deg']).toEqual([94.811, 100, 107.304]);
    expect(WHITE_POINTS.D50['10deg']).toEqual([96.72, 100, 81.427]);
    // W3C css-color-4 conversions.js: 0.3127/0.3290 and 0.3457/0.3585
    expect(WHITE_POINTS.D65['2deg'][0]).toBeCloseTo((100 * 0.3127) / 0.329, 10);
    expect(WHITE_POINTS.D65['2deg'][2]).toBeCloseTo((100 * 0.3583) / 0.329, 10);
    expect(WHITE_POINTS.D50['2deg'][0]).toBeCloseTo((100 * 0.3457) / 0.3585, 10);
    expect(WHITE_POINTS.D50['2deg'][2]).toBeCloseTo((100 * 0.2958) / 0.3585, 10);
  });

  it('reads 18 % as L* 49.50 and the linear foot as κ · Y (CIE 15)', () => {
    expect(xyzToLab(labToXyz([49.496, 0, 0], 'D65', '2deg'), 'D65', '2deg')[0]).toBeCloseTo(49.496, 9);
    expect(labToXyz([49.496, 0, 0], 'D50', '10deg')[1]).toBeCloseTo(18, 3);
    expect(labToXyz([8, 0, 0], 'D65', '2deg')[1]).toBeCloseTo((100 * 216) / 24389, 9);
    expect(labToXyz([4, 0, 0], 'D65', '2deg')[1]).toBeCloseTo((100 * 4 * 27) / 24389, 9);
  });

  it('meets the way of lab.ts from Lab to linear light, in and out of sRGB', () => {
    const random = createRandom(19990405);
    for (const illuminant of ILLUMINANTS) {
      for (let i = 0; i < 1000; i++) {
        const lab: Lab = [random.next() * 100, random.next() * 200 - 100, random.next() * 200 - 100];
        const wanted = labToLinear(lab, illuminant);
        xyzToLinear(labToXyz(lab, illuminant, '2deg'), illuminant).forEach((channel, k) => {
          expect(Math.abs(channel - wanted[k]!)).toBeLessThan(1e-9);
        });
      }
    }
  });

  it('agrees with culori on 10,000 random colours from Lab to linear light, D65 and D50', () => {
    const random = createRandom(10_000);
    const toLinear = converter('lrgb');
    const modes = { D65: 'lab65', D50: 'lab' } as const;
    let worst = 0;
    for (let i = 0; i < 10_000; i++) {
      const lab: Lab = [random.next() * 100, random.next() * 160 - 80, random.next() * 160 - 80];
      for (const illuminant of ILLUMINANTS) {
        const theirs = toLinear({ mode: modes[illuminant], l: lab[0], a: lab[1], b: lab[2] });
        const wanted = [theirs.r, theirs.g, theirs.b];
        const here = [labToLinear(lab, illuminant), xyzToLinear(labToXyz(lab, illuminant, '2deg'), illuminant)];
        for (const ours of here) worst = Math.max(worst, ...ours.map((channel, k) => Math.abs(channel - wanted[k]!)));
      }
    }
    // measured: 4e-7, where constants of the two are rounded differently
    expect(worst).toBeLessThan(1e-5);
  });
});
