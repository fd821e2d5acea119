import { describe, expect, it } from 'vitest';
import { exactReflectance, schlick, schlickReflectance } from '../../../../server/core/gloss/fresnel.ts';
import {
  APERTURE_CAVEAT,
  GLOSS_ANGLES,
  type GlossAngle,
  gaussLegendre,
  integrateDiffuse,
  integrateGloss,
  integrateSpecular,
  mirrorGloss,
  RECEPTOR_APERTURES,
  SOURCE_APERTURE,
} from '../../../../server/core/gloss/gloss-integral.ts';

describe('the mirror limit', () => {
  it.each(GLOSS_ANGLES)('of black glass of index 1.567 is 100 at %d° (ISO 2813)', (angle) => {
    expect(mirrorGloss(1.567, angle)).toBeCloseTo(100, 10);
    expect(integrateGloss({ ior: 1.567, luminance: 0, roughness: 0 }, angle)).toBeCloseTo(100, 10);
  });

  // 100 · Schlick(1.5) / Schlick(1.567); 0.0700 / 0.1001, Schlick over exact, would give 70
  it.each([
    [20, 82.0],
    [60, 89.2],
    [85, 99.5],
  ] as const)('of index 1.5 at %d° is %d, sample and reference through the same term', (angle, expected) => {
    expect(mirrorGloss(1.5, angle)).toBeCloseTo(expected, 1);
    const ratio = (100 * schlickReflectance(1.5, angle)) / schlickReflectance(1.567, angle);
    // the source has a width, over which F is not quite linear
    expect(Math.abs(mirrorGloss(1.5, angle) - ratio)).toBeLessThan(0.02);
  });

  // a real meter reads the exact ratio of polished glass; with Schlick's term an ordinary binder is slightly off at
  // most
  it.each([
    [20, 0.1],
    [60, 0.8],
    [85, 1.3],
  ] as const)('is close to the exact ratio at %d° for indices 1.45 to 1.6: within %d', (angle, most) => {
    for (const ior of [1.45, 1.5, 1.55, 1.6]) {
      const exact = (100 * exactReflectance(ior, angle)) / exactReflectance(1.567, angle);
      expect(Math.abs(mirrorGloss(ior, angle) - exact)).toBeLessThan(most);
    }
  });

  it.each(GLOSS_ANGLES)('is the limit of small roughness at %d°', (angle) => {
    expect(integrateSpecular(0.0051, angle, 0.04)).toBeCloseTo(mirrorGloss(1.5, angle), 1);
    expect(integrateSpecular(0.01, angle, 0.04)).toBeLessThan(mirrorGloss(1.5, angle));
  });
});

describe('the integral', () => {
  it.each(GLOSS_ANGLES)('does not change on a grid of twice as many points at %d°', (angle) => {
    const fine = { source: 16, receptor: 80 };
    for (const [roughness, error] of [
      [0.01, 2e-3],
      [0.03, 2e-5],
      [0.1, 1e-6],
      [0.5, 1e-6],
    ] as const) {
      const difference =
        integrateSpecular(roughness, angle, 0.04) - integrateSpecular(roughness, angle, 0.04, 'half', fine);
      expect(Math.abs(difference)).toBeLessThan(error);
    }
  });

  // an independent way to the same number: draw half vectors by GGX, and count those that reach the receptor
  it.each([
    [20, 0.1],
    [60, 0.1],
    [60, 0.25],
    [85, 0.15],
  ] as const)('is what counting of reflected rays gives at %d° and roughness %d', (angle, roughness) => {
    const counted = countRays(angle, roughness, 0.04);
    expect(counted / integrateSpecular(roughness, angle, 0.04)).toBeCloseTo(1, 2);
  });

  it.each(GLOSS_ANGLES)('falls with roughness at %d°, with a white ground and without', (angle) => {
    for (const luminance of [0, 1]) {
      const readings = Array.from({ length: 51 }, (_, index) =>
        integrateGloss({ ior: 1.5, luminance, roughness: index / 50 }, angle, { source: 4, receptor: 40 }),
      );
      readings.slice(1).forEach((reading, index) => {
        expect(reading).toBeLessThan(readings[index]!);
      });
    }
  });

  // (1 − F) / π · solid angle · cos θ, over F(1.567): 4.4° × 11.7° is 0.01565 sr
  it('includes the ground: a white one alone reads 2.9 at 60°, 1.2 at 20° and almost 0 at 85°', () => {
    expect(integrateDiffuse(60, 0.04)).toBeCloseTo((100 * 0.93 * 0.01565 * 0.5) / (Math.PI * 0.0785), 1);
    expect(integrateDiffuse(20, 0.04)).toBeCloseTo(1.16, 2);
    expect(integrateDiffuse(85, 0.04)).toBeLessThan(0.02);
    const dark = integrateGloss({ ior: 1.5, luminance: 0, roughness: 0.5 }, 60);
    const light = integrateGloss({ ior: 1.5, luminance: 0.8, roughness: 0.5 }, 60);
    expect(light - dark).toBeCloseTo(0.8 * integrateDiffuse(60, 0.04), 10);
  });
});

describe('a clearcoat', () => {
  const ground = { ior: 1.5, luminance: 0.2, roughness: 0.5 };

  // KHR_materials_clearcoat: base · (1 − factor · F(n·v)) + coat · factor · F(n·v), F0 0.04
  it('adds its lobe and dims the ground', () => {
    const base = integrateGloss(ground, 60);
    const coated = integrateGloss({ ...ground, clearcoat: { factor: 1, roughness: 0 } }, 60);
    expect(coated).toBeCloseTo(mirrorGloss(1.5, 60) + (1 - 0.07) * base, 6);
    const half = integrateGloss({ ...ground, clearcoat: { factor: 0.5, roughness: 0 } }, 60);
    expect(half).toBeCloseTo((coated + base) / 2, 6);
  });

  it('has no effect with factor 0', () => {
    expect(integrateGloss({ ...ground, clearcoat: { factor: 0, roughness: 0 } }, 60)).toBe(integrateGloss(ground, 60));
  });
});

// The openings are unverified, so the caveat states their effect. The test counts rays through receptors a tenth
// narrower, as quoted, and a tenth wider. Readings are equal for surfaces whose roughness differs by the figures of the
// caveat.
describe('the caveat on the openings', () => {
  const steps = [0.9, 1, 1.1] as const;
  const cases: [GlossAngle, number, readonly [number, number, number]][] = [
    [60, 10, [0.3339, 0.3517, 0.3685]],
    [60, 30, [0.2137, 0.2253, 0.2364]],
    [60, 80, [0.0914, 0.0965, 0.1014]],
    [20, 60, [0.0724, 0.0777, 0.0825]],
    [85, 5, [0.3846, 0.3973, 0.4089]],
  ];

  it.each(cases)('is right at %d° and %d gloss units', (angle, gu, roughness) => {
    steps.forEach((step, i) => {
      expect(Math.abs(countRays(angle, roughness[i]!, 0.04, step) / gu - 1)).toBeLessThan(0.015);
    });
  });

  it('states the smallest and the greatest effect', () => {
    const changes = cases.flatMap(([, , [narrow, quoted, wide]]) => [1 - narrow / quoted, wide / quoted - 1]);
    const percent = [Math.min(...changes), Math.max(...changes)].map((change) => Math.round(change * 100));
    expect(APERTURE_CAVEAT).toContain(`by ${percent[0]} to ${percent[1]} %`);
  });
});

type Vector = readonly [number, number, number];

/**
 * Gloss units of the specular lobe by counting: half vectors at even steps of GGX's distribution, seen from points of
 * the source, in a sequence that fills four dimensions evenly (powers of the root of x⁵ = x + 1; Roberts 2018).
 * @param receptor width of its opening relative to the quoted one
 */
function countRays(angle: GlossAngle, roughness: number, f0: number, receptor = 1): number {
  const alpha = roughness ** 2;
  const cosine = Math.cos((angle * Math.PI) / 180);
  const sine = Math.sin((angle * Math.PI) / 180);
  const tangent = (degrees: number) => Math.tan((degrees * Math.PI) / 360);
  const quoted = RECEPTOR_APERTURES[angle];
  const window = { inPlane: quoted.inPlane * receptor, across: quoted.across * receptor };
  const steps = [1, 2, 3, 4].map((power) => 1.1673039782614187 ** -power);
  const dot = (a: Vector, b: Vector) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  let flux = 0;
  let reference = 0;
  for (let index = 1; index <= 300_000; index += 1) {
    const [s, t, p, q] = steps.map((step) => (0.5 + index * step) % 1) as [number, number, number, number];
    const a = (2 * s - 1) * tangent(SOURCE_APERTURE.inPlane);
    const b = (2 * t - 1) * tangent(SOURCE_APERTURE.across);
    const length = Math.sqrt(1 + a * a + b * b);
    const l: Vector = [(-sine - a * cosine) / length, b / length, (cosine - a * sine) / length];
    const weight = l[2] / length ** 3;
    reference += weight * schlick(0.048788, l[2]);
    // GGX: tan² θ = α² p / (1 − p)
    const polar = Math.atan(alpha * Math.sqrt(p / (1 - p)));
    const turn = 2 * Math.PI * q;
    const h: Vector = [Math.sin(polar) * Math.cos(turn), Math.sin(polar) * Math.sin(turn), Math.cos(polar)];
    const lh = dot(l, h);
    const v: Vector = [2 * lh * h[0] - l[0], 2 * lh * h[1] - l[1], 2 * lh * h[2] - l[2]];
    const ahead = v[0] * sine + v[2] * cosine;
    const inPlane = Math.abs((v[0] * cosine - v[2] * sine) / ahead);
    const across = Math.abs(v[1] / ahead);
    if (v[2] <= 0 || lh <= 0 || inPlane > tangent(window.inPlane) || across > tangent(window.across)) continue;
    // Smith's masking of both sides together, 4 (n·l) (n·v) V = 2 / (√(1 + α² tan² l) + √(1 + α² tan² v))
    const root = (x: number) => Math.sqrt(1 + (alpha * alpha * (1 - x * x)) / (x * x));
    const masking = 2 / (root(l[2]) + root(v[2]));
    flux += (weight * schlick(f0, lh) * masking * lh) / (l[2] * h[2]);
  }
  return (100 * flux) / reference;
}

describe('Gauss–Legendre quadrature', () => {
  // Abramowitz and Stegun, table 25.4
  it('has the published nodes and weights for two and three points', () => {
    const two = gaussLegendre(2);
    expect(two.nodes[0]).toBeCloseTo(1 / Math.sqrt(3), 14);
    expect(two.weights[0]).toBeCloseTo(1, 14);
    const three = gaussLegendre(3);
    expect(three.nodes[0]).toBeCloseTo(Math.sqrt(0.6), 14);
    expect(three.weights[0]).toBeCloseTo(5 / 9, 14);
    expect(three.weights[1]).toBeCloseTo(8 / 9, 14);
  });

  it.each([8, 40])('is exact up to degree 2n − 1: x to the 14th with %d points', (count) => {
    const { nodes, weights } = gaussLegendre(count);
    const sum = nodes.reduce((total, node, index) => total + weights[index]! * node ** 14, 0);
    expect(sum).toBeCloseTo(2 / 15, 13);
  });
});
