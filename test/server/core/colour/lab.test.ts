import { converter, differenceCiede2000, differenceCmc } from 'culori';
import { describe, expect, it } from 'vitest';
import {
  deltaE2000,
  deltaECmc,
  fitToGamut,
  type Lab,
  labToLinear,
  labToXyz,
  linearToLab,
  WHITE_POINTS,
  xyzToLab,
  xyzToLinear,
} from '../../../../server/core/colour/lab.ts';
import { hexToLinear, type LinearRgb } from '../../../../server/core/colour/srgb.ts';
import { ILLUMINANTS, type Illuminant, OBSERVERS } from '../../../../server/core/finish/finish.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import { createRandom } from '../../../support/random.ts';
import { SHARMA_2005 } from './sharma-2005.ts';

/**
 * Lab of known colours, 2° observer: computed from the formulae of W3C css-color-4 conversions.js 064b981 (matrices as
 * exact rationals, ε = 216/24389, κ = 24389/27, whites from xy 0.3127/0.3290 and 0.3457/0.3585, Bradford).
 */
const KNOWN: readonly (readonly [hex: string, d65: Lab, d50: Lab])[] = [
  ['#ffffff', [100, 0, 0], [100, 0, 0]],
  ['#000000', [0, 0, 0], [0, 0, 0]],
  ['#ff0000', [53.2371, 80.0901, 67.2033], [54.2905, 80.8049, 69.891]],
  ['#00ff00', [87.7355, -86.1816, 83.1866], [87.8185, -79.2711, 80.9946]],
  ['#0000ff', [32.3009, 79.1953, -107.8555], [29.5683, 68.2874, -112.0297]],
  ['#00ffff', [91.1148, -48.0789, -14.129], [90.666, -50.6565, -14.9617]],
  ['#ff00ff', [60.3227, 98.2374, -60.8289], [60.1689, 93.5396, -60.5008]],
  ['#ffff00', [97.1386, -21.56, 94.4838], [97.607, -15.7498, 93.3936]],
  ['#777777', [50.0344, 0, 0], [50.0344, 0, 0]],
  ['#808080', [53.585, 0, 0], [53.585, 0, 0]],
  ['#1e1e1e', [11.2636, 0, 0], [11.2636, 0, 0]],
  ['#f0f0f0', [94.7962, 0, 0], [94.7962, 0, 0]],
  ['#000080', [12.9743, 47.5069, -64.6993], [11.3351, 40.9636, -67.2034]],
  ['#8b4513', [37.4684, 26.4391, 40.9842], [37.9323, 28.0752, 41.5661]],
  ['#2f4f4f', [31.2556, -11.718, -3.7231], [31.1411, -12.2609, -3.9365]],
];

describe('Lab', () => {
  it.each(KNOWN)('converts %s under D65 and D50, in both directions', (hex, d65, d50) => {
    const rgb = hexToLinear(hex);
    for (const [illuminant, lab] of [
      ['D65', d65],
      ['D50', d50],
    ] as const) {
      near(linearToLab(rgb, illuminant), lab, 1e-3);
      near(labToLinear(linearToLab(rgb, illuminant), illuminant), rgb, 1e-6);
    }
    near(linearToLab(rgb), d65, 1e-3);
  });

  it('adapts by Bradford, with whites of four-digit xy', () => {
    // W3C css-color-4 conversions.js 064b981, D50_to_D65: a light grey-blue under D50, converted by hand
    const lab: Lab = [70, -10, -20];
    const xyz50 = convertByWhite(lab, [0.3457 / 0.3585, 1, (1 - 0.3457 - 0.3585) / 0.3585]);
    const xyz65 = multiply(
      [
        [0.955473421488075, -0.02309845494876471, 0.06325924320057072],
        [-0.0283697093338637, 1.0099953980813041, 0.021041441191917323],
        [0.012314014864481998, -0.020507649298898964, 1.330365926242124],
      ],
      xyz50,
    );
    const rgb = multiply(
      [
        [12831 / 3959, -329 / 214, -1974 / 3959],
        [-851781 / 878810, 1648619 / 878810, 36519 / 878810],
        [705 / 12673, -2585 / 12673, 705 / 667],
      ],
      xyz65,
    );
    near(labToLinear(lab, 'D50'), rgb, 1e-6);
  });

  it('keeps neutral colours neutral under either light', () => {
    for (const illuminant of ['D50', 'D65'] as const) {
      const [r, g, b] = labToLinear([50, 0, 0], illuminant);
      expect(Math.max(r, g, b) - Math.min(r, g, b)).toBeLessThan(1e-6);
    }
  });

  it('does not clamp colours outside sRGB', () => {
    expect(Math.min(...labToLinear([50, -120, 40], 'D65'))).toBeLessThan(-0.01);
    expect(Math.max(...labToLinear([95, 100, 60], 'D65'))).toBeGreaterThan(1.01);
  });

  // culori 4.0.2, an independent implementation
  it('agrees with culori on 10,000 colours under both lights, and on their differences', () => {
    const random = createRandom(20050201);
    const toLab = { D65: converter('lab65'), D50: converter('lab') } satisfies Record<Illuminant, unknown>;
    const difference = differenceCiede2000();
    let worstLab = 0;
    let worstDifference = 0;
    let before: LinearRgb = [0.2, 0.2, 0.2];
    for (let i = 0; i < 10_000; i++) {
      const rgb: LinearRgb = [random.next(), random.next(), random.next()];
      for (const illuminant of ['D65', 'D50'] as const) {
        const ours = linearToLab(rgb, illuminant);
        const theirs = toLab[illuminant]({ mode: 'lrgb', r: rgb[0], g: rgb[1], b: rgb[2] });
        const gaps = [ours[0] - theirs.l!, ours[1] - theirs.a!, ours[2] - theirs.b!];
        worstLab = Math.max(worstLab, ...gaps.map(Math.abs));
      }
      const a = linearToLab(before);
      const b = linearToLab(rgb);
      const theirs = difference(
        { mode: 'lab65', l: a[0], a: a[1], b: a[2] },
        { mode: 'lab65', l: b[0], a: b[1], b: b[2] },
      );
      worstDifference = Math.max(worstDifference, Math.abs(deltaE2000(a, b) - theirs));
      before = rgb;
    }
    // whites of the two differ in the fifth digit
    expect(worstLab).toBeLessThan(0.01);
    expect(worstDifference).toBeLessThan(1e-6);
  });
});

function near(got: readonly number[], wanted: readonly number[], tolerance: number): void {
  wanted.forEach((value, i) => {
    expect(Math.abs(got[i]! - value), `${got} for ${wanted}`).toBeLessThanOrEqual(tolerance);
  });
}

/** CIE 15 through css-color-4's Lab_to_XYZ. */
function convertByWhite([l, a, b]: Lab, white: readonly [number, number, number]): [number, number, number] {
  const epsilon = 216 / 24389;
  const kappa = 24389 / 27;
  const fy = (l + 16) / 116;
  const back = (f: number) => (f ** 3 > epsilon ? f ** 3 : (116 * f - 16) / kappa);
  const y = l > kappa * epsilon ? fy ** 3 : l / kappa;
  return [back(a / 500 + fy) * white[0], y * white[1], back(fy - b / 200) * white[2]];
}

type Vector = readonly [number, number, number];

function multiply(matrix: readonly Vector[], vector: Vector): [number, number, number] {
  const row = ([x, y, z]: Vector) => x * vector[0] + y * vector[1] + z * vector[2];
  return [row(matrix[0]!), row(matrix[1]!), row(matrix[2]!)];
}

const VIEWINGS = ILLUMINANTS.flatMap((light) => OBSERVERS.map((eye) => [light, eye] as const));

describe('XYZ and Lab', () => {
  it.each(VIEWINGS)('convert in both directions under %s/%s, white and black included', (light, eye) => {
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

  it('have the whites of ASTM E308 for 10° and of CSS Color 4 for 2°', () => {
    expect(WHITE_POINTS.D65['10deg']).toEqual([94.811, 100, 107.304]);
    expect(WHITE_POINTS.D50['10deg']).toEqual([96.72, 100, 81.427]);
    // W3C css-color-4 conversions.js: 0.3127/0.3290 and 0.3457/0.3585
    expect(WHITE_POINTS.D65['2deg'][0]).toBeCloseTo((100 * 0.3127) / 0.329, 10);
    expect(WHITE_POINTS.D65['2deg'][2]).toBeCloseTo((100 * 0.3583) / 0.329, 10);
    expect(WHITE_POINTS.D50['2deg'][0]).toBeCloseTo((100 * 0.3457) / 0.3585, 10);
    expect(WHITE_POINTS.D50['2deg'][2]).toBeCloseTo((100 * 0.2958) / 0.3585, 10);
  });

  it('read 18 % as L* 49.50 and the linear part as κ · Y (CIE 15)', () => {
    expect(xyzToLab(labToXyz([49.496, 0, 0], 'D65', '2deg'), 'D65', '2deg')[0]).toBeCloseTo(49.496, 9);
    expect(labToXyz([49.496, 0, 0], 'D50', '10deg')[1]).toBeCloseTo(18, 3);
    expect(labToXyz([8, 0, 0], 'D65', '2deg')[1]).toBeCloseTo((100 * 216) / 24389, 9);
    expect(labToXyz([4, 0, 0], 'D65', '2deg')[1]).toBeCloseTo((100 * 4 * 27) / 24389, 9);
  });

  it('agree with lab.ts from Lab to linear light, inside and outside sRGB', () => {
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

  it('agree with culori on 10,000 random colours from Lab to linear light, D65 and D50', () => {
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
    // measured: 4e-7, since the two libraries round constants differently
    expect(worst).toBeLessThan(1e-5);
  });
});

/** The table is printed to four decimals. */
const PRINTED = 1e-4;

describe('CIEDE2000', () => {
  it('has all 34 pairs', () => {
    expect(SHARMA_2005).toHaveLength(34);
  });

  // Sharma, Wu, Dalal 2005, Table 1; kL = kC = kH = 1
  it.each(SHARMA_2005.map((row, index) => [index + 1, row] as const))(
    'pair %i of Table 1, in both orders',
    (_, row) => {
      const a: Lab = [row[0], row[1], row[2]];
      const b: Lab = [row[3], row[4], row[5]];
      expect(Math.abs(deltaE2000(a, b) - row[6])).toBeLessThanOrEqual(PRINTED);
      expect(Math.abs(deltaE2000(b, a) - row[6])).toBeLessThanOrEqual(PRINTED);
    },
  );

  // computed from the formula of the same paper: white to black is 100, and a colour to itself is 0
  it('spans 100 from black to white and 0 from a colour to itself', () => {
    const lab = (hex: string) => linearToLab(hexToLinear(hex));
    expect(deltaE2000(lab('#ffffff'), lab('#000000'))).toBeCloseTo(100, 3);
    expect(deltaE2000(lab('#2f5d73'), lab('#2f5d73'))).toBe(0);
    // computed beforehand with an independent implementation of the formula
    expect(deltaE2000(lab('#ff0000'), lab('#00ff00'))).toBeCloseTo(86.6078, 3);
  });
});

describe('deltaECmc', () => {
  it('agrees with culori on 10,000 random pairs, 2:1 and 1:1', () => {
    // tolerances: both work in double precision from the same formula (ISO 105-J03)
    const random = createRandom(1984);
    const colour = (): Lab => [random.next() * 100, random.next() * 160 - 80, random.next() * 160 - 80];
    const theirs = { 1: differenceCmc(1, 1), 2: differenceCmc(2, 1) };
    let worst = 0;
    for (let i = 0; i < 10_000; i++) {
      const a = colour();
      const b = colour();
      for (const l of [1, 2] as const) {
        const wanted = theirs[l](
          { mode: 'lab65', l: a[0], a: a[1], b: a[2] },
          { mode: 'lab65', l: b[0], a: b[1], b: b[2] },
        );
        worst = Math.max(worst, Math.abs(deltaECmc(a, b, l) - wanted));
      }
    }
    expect(worst).toBeLessThan(1e-6);
  });

  it('weighs a step of lightness by S_L, halved at 2:1: by the formula, for a grey of L* 50', () => {
    const step = (0.040975 * 50) / (1 + 0.01765 * 50);
    expect(deltaECmc([50, 0, 0], [51, 0, 0], 1)).toBeCloseTo(1 / step, 9);
    expect(deltaECmc([50, 0, 0], [51, 0, 0])).toBeCloseTo(0.5 / step, 9);
    // below L* 16 the divisor is constant, 0.511
    expect(deltaECmc([10, 0, 0], [11, 0, 0], 1)).toBeCloseTo(1 / 0.511, 9);
  });

  it('depends on which colour is the reference', () => {
    const a: Lab = [50, 0, 0];
    const b: Lab = [50, 30, 0];
    expect(deltaECmc(a, b)).toBeGreaterThan(deltaECmc(b, a));
    expect(deltaECmc(a, a)).toBe(0);
  });
});

// a base colour outside 0–1 is outside the range of baseColorFactor: KhronosGroup/glTF 77b44be,
// specification/2.0/schema/material.pbrMetallicRoughness.schema.json (items: minimum 0, maximum 1)
describe('fitting into sRGB', () => {
  it('keeps colours inside sRGB unchanged, with the distance 0', () => {
    const random = createRandom(7);
    for (let i = 0; i < 500; i++) {
      const rgb = [random.next(), random.next(), random.next()] as const;
      expect(fitToGamut(rgb)).toEqual({ rgb: [...rgb], deltaE: 0 });
    }
  });

  it('always reports colours outside: the result is inside, and its distance is the true ΔE00', () => {
    const random = createRandom(11);
    let outside = 0;
    for (let i = 0; i < 1000; i++) {
      const lab: Lab = [100 * random.next(), 250 * random.next() - 125, 250 * random.next() - 125];
      const asked = labToLinear(lab, 'D65');
      const { rgb, deltaE } = fitToGamut(asked);
      for (const channel of rgb) {
        expect(channel).toBeGreaterThanOrEqual(0);
        expect(channel).toBeLessThanOrEqual(1);
      }
      expect(deltaE).toBeCloseTo(deltaE2000(lab, linearToLab(rgb)), 3);
      if (asked.some((channel) => channel < -0.001 || channel > 1.001)) {
        outside++;
        expect(deltaE).toBeGreaterThan(0);
      }
    }
    expect(outside).toBeGreaterThan(250);
  });

  it('is no farther off than plain clamping', () => {
    const random = createRandom(13);
    for (let i = 0; i < 500; i++) {
      const lab: Lab = [100 * random.next(), 250 * random.next() - 125, 250 * random.next() - 125];
      const asked = labToLinear(lab, 'D65');
      const cut = asked.map((channel) => Math.min(1, Math.max(0, channel))) as [number, number, number];
      expect(fitToGamut(asked).deltaE).toBeLessThanOrEqual(deltaE2000(lab, linearToLab(cut)) + 1e-6);
    }
  });

  // brute force with another library's CIEDE2000 (culori): no colour of a grid over sRGB is nearer by more than the
  // size of a grid step
  it('finds a colour as near as any in a grid over all of sRGB', () => {
    const toLab65 = converter('lab65');
    const apart = differenceCiede2000();
    const grid: { readonly mode: string }[] = [];
    for (let r = 0; r <= 24; r++)
      for (let g = 0; g <= 24; g++)
        for (let b = 0; b <= 24; b++)
          grid.push({ mode: 'lab65', ...toLab65({ mode: 'rgb', r: r / 24, g: g / 24, b: b / 24 }) });
    const random = createRandom(17);
    for (let i = 0; i < 40; i++) {
      const lab: Lab = [100 * random.next(), 240 * random.next() - 120, 240 * random.next() - 120];
      const asked = { mode: 'lab65', l: lab[0], a: lab[1], b: lab[2] } as const;
      const nearest = Math.min(...grid.map((candidate) => apart(asked, candidate)));
      expect(fitToGamut(labToLinear(lab, 'D65')).deltaE).toBeLessThanOrEqual(nearest + 0.01);
    }
  });

  it('states the distance on the resolved finish, and keeps the requested colour beside it', () => {
    const lab: Lab = [55, -110, 60];
    const resolved = resolveFinish(
      {
        finish: 'LOUD',
        name: 'Loud green',
        family: 'plastic',
        colour: { lab, illuminant: 'D65', observer: '2deg' },
      },
      null,
    );
    expect(resolved.outOfGamutDeltaE).toBeGreaterThan(1);
    expect(resolved.outOfGamutDeltaE).toBeCloseTo(deltaE2000(lab, linearToLab(resolved.baseColour)), 3);
    resolved.specifiedLab.forEach((value, i) => {
      expect(value).toBeCloseTo(lab[i]!, 3);
    });
    const hex = resolveFinish({ finish: 'Q', name: 'Quiet', family: 'paint', colour: { hex: '#2f5d73' } }, null);
    expect(hex.outOfGamutDeltaE).toBe(0);
    expect(hex.hex).toBe('#2f5d73');
    hex.baseColour.forEach((value, i) => {
      expect(value).toBeCloseTo(hexToLinear('#2f5d73')[i]!, 12);
    });
  });
});
