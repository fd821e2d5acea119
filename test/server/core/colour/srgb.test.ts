import { describe, expect, it } from 'vitest';
import {
  decodeSrgb,
  encodeSrgb,
  hexToLinear,
  isHex,
  LINEAR_CODES,
  linearToHex,
  luminance,
  toCode,
} from '../../../../server/core/colour/srgb.ts';

/**
 * IEC 61966-2-1 by the constants of CSS Color 4, W3C css-color-4 conversions.js 064b981 (lin_sRGB, gam_sRGB); the
 * figures are computed from those formulae, not from the text of the IEC.
 */
const DECODED: readonly (readonly [code: number, linear: number])[] = [
  [0, 0],
  [1, 0.00030353],
  [10, 0.00303527],
  [11, 0.00334654],
  [12, 0.00367651],
  [30, 0.01298303],
  [50, 0.03189603],
  [64, 0.05126946],
  [119, 0.18447499],
  [124, 0.20155625],
  [127, 0.21223076],
  [128, 0.2158605],
  [188, 0.50288646],
  [192, 0.52711513],
  [200, 0.57758044],
  [225, 0.75294222],
  [231, 0.79910274],
  [240, 0.87136712],
  [243, 0.89626935],
  [255, 1],
];
const ENCODED: readonly (readonly [linear: number, code: number])[] = [
  [0.0031308, 10.315],
  [0.04, 56.334],
  [0.05, 63.189],
  [0.1, 89.044],
  [0.18, 117.646],
  [0.2, 123.555],
  [0.5, 187.516],
  [0.735357, 222.658],
  [0.8, 231.115],
  [0.9, 243.445],
];

const hexOfGrey = (code: number) => `#${code.toString(16).padStart(2, '0').repeat(3)}`;

describe('sRGB', () => {
  it.each(DECODED)('code %i decodes to %f', (code, linear) => {
    expect(Math.abs(decodeSrgb(code / 255) - linear)).toBeLessThanOrEqual(5e-9);
  });

  it.each(ENCODED)('linear %f encodes to code %f', (linear, code) => {
    expect(Math.abs(encodeSrgb(linear) * 255 - code)).toBeLessThanOrEqual(5e-4);
  });

  it('round-trips all 256 codes', () => {
    for (let code = 0; code < 256; code++) {
      expect(Math.abs(encodeSrgb(decodeSrgb(code / 255)) * 255 - code)).toBeLessThan(1e-6);
    }
  });

  it('is not a gamma of 2.2: code 30 is 44 % lighter', () => {
    expect(decodeSrgb(30 / 255) / (30 / 255) ** 2.2).toBeGreaterThan(1.4);
  });

  // glTF-Transform a47e117, ColorUtils.factorToHex truncates instead of rounding: this loses 11 of 256 levels
  it('writes every grey back as its original hex, including white', () => {
    for (let code = 0; code < 256; code++) expect(linearToHex(hexToLinear(hexOfGrey(code)))).toBe(hexOfGrey(code));
  });

  it('rounds to the nearest code and keeps the order of the channels', () => {
    expect(linearToHex([0.5, 0.2, 0.1])).toBe('#bc7c59'); // 187.516, 123.555, 89.044 above
    expect(hexToLinear('#407ce7').map((value) => Number(value.toFixed(8)))).toEqual([
      0.05126946, 0.20155625, 0.79910274,
    ]);
    expect(linearToHex([-0.5, 2, 1])).toBe('#00ffff');
  });

  // KhronosGroup/glTF 77b44be, specification/2.0/Specification.adoc, Metallic-Roughness Material: texel [64, 124, 231,
  // 255] by factor [0.2, 1.0, 0.7, 1.0] is [0.0102, 0.202, 0.5593, 1.0]. The example truncates decoded values to three
  // decimals.
  it('decodes the worked texel example of the glTF specification', () => {
    const [r, g, b] = hexToLinear('#407ce7');
    expect(r).toBeCloseTo(0.051, 3);
    expect(g).toBeCloseTo(0.202, 3);
    expect(b).toBeCloseTo(0.799, 3);
    const product = [r * 0.2, g * 1.0, b * 0.7];
    [0.0102, 0.202, 0.5593].forEach((printed, i) => {
      expect(Math.abs(product[i]! - printed)).toBeLessThanOrEqual(5e-4);
    });
  });

  // W3C css-color-4 conversions.js 064b981, lin_sRGB_to_XYZ, second row
  it('weighs the primaries by their luminance', () => {
    expect(luminance([1, 0, 0])).toBeCloseTo(87098 / 409605, 9);
    expect(luminance([0, 1, 0])).toBeCloseTo(175762 / 245763, 9);
    expect(luminance([0, 0, 1])).toBeCloseTo(12673 / 175545, 9);
  });

  it.each(['2f5d73', '#2f5d7', '#2f5d733', '#2f5d7g', '#fff', '', ' #2f5d73', '#2f5d73\n'])(
    '%j is not a hex',
    (text) => {
      expect(isHex(text)).toBe(false);
    },
  );

  it.each(['#2f5d73', '#FFFFFF', '#000000'])('%s is a hex', (text) => {
    expect(isHex(text)).toBe(true);
  });
});

// IEC 61966-2-1, by the core's own functions, which test/server/core/colour compares with published values
describe('codes of linear light', () => {
  it('round-trip, all 256', () => {
    expect([...LINEAR_CODES].map(toCode)).toEqual([...LINEAR_CODES.keys()]);
  });

  it('are within a fortieth of a code of the curve, and clamped at its ends', () => {
    for (let i = 0; i <= 10_000; i++) {
      expect(Math.abs(toCode(i / 10_000) - encodeSrgb(i / 10_000) * 255)).toBeLessThanOrEqual(0.5 + 1 / 39);
    }
    expect([toCode(-0.1), toCode(1.1)]).toEqual([0, 255]);
  });
});
