import { describe, expect, it } from 'vitest';
import {
  deltaE2000,
  type Lab,
  labToXyz,
  WHITE_POINTS,
  type Xyz,
  xyzToLab,
} from '../../../../server/core/colour/lab.ts';
import { removeSurfaceReflection, specifyColour, surfaceShare } from '../../../../server/core/colour/specify-colour.ts';

const PAINT = { metal: false, ior: 1.5 };
const flat = (reflectance: number) => ({
  spectrum: { startNm: 400, stepNm: 10, values: Array<number>(31).fill(reflectance) },
});

describe('a specified colour', () => {
  // a constant reflectance is a neutral of that luminance under any light: CIE 15
  it.each([0.05, 0.18, 0.5, 0.9])('of a flat spectrum of %d is the grey with that linear value', (reflectance) => {
    const { rgb, estimated } = specifyColour(flat(reflectance), PAINT);
    for (const channel of rgb) expect(channel).toBeCloseTo(reflectance, 3);
    expect(estimated).toBeNull();
  });

  it('is the same from Lab, from the XYZ of that Lab, and under D65 and D50 for a neutral', () => {
    const lab: Lab = [38.1, -8.2, -15.4];
    const viewing = { illuminant: 'D65', observer: '2deg' } as const;
    const byLab = specifyColour({ lab, ...viewing }, PAINT);
    const byXyz = specifyColour({ xyz: labToXyz(lab, 'D65', '2deg'), ...viewing }, PAINT);
    expect(deltaE2000(byLab.lab, byXyz.lab)).toBeLessThan(1e-4);
    expect(deltaE2000(byLab.lab, lab)).toBeLessThan(1e-4);
    const neutral = specifyColour({ lab: [50, 0, 0], illuminant: 'D50', observer: '2deg' }, PAINT);
    expect(deltaE2000(neutral.lab, [50, 0, 0])).toBeLessThan(0.01);
  });

  // the surface of index 1.5 reflects 4 % of the light (Fresnel), which is L* 23.7 (CIE 15)
  it('of a reading with the reflection is the colour under the surface, except for metals', () => {
    const black = { lab: [23.7, 0, 0], illuminant: 'D65', observer: '2deg', geometry: 'di:8' } as const;
    const paint = specifyColour(black, PAINT);
    expect(paint.lab[0]).toBeLessThan(0.5);
    expect(paint.included![0]).toBeCloseTo(23.7, 3);
    expect(specifyColour(black, { metal: true, ior: 1.5 }).lab[0]).toBeCloseTo(23.7, 3);
    expect(specifyColour({ ...black, geometry: 'de:8' }, PAINT).lab[0]).toBeCloseTo(23.7, 3);
  });

  // the layer over the colour is neutral and equal at every wavelength: removing it keeps the hue (Fresnel, CIE 15)
  it('outside sRGB keeps its hue when the reflection is removed', () => {
    const lab: Lab = [55, -95, 45];
    const xyz = labToXyz(lab, 'D65', '2deg');
    const white = labToXyz([100, 0, 0], 'D65', '2deg');
    const covered = xyz.map((value, i) => 0.04 * white[i]! + 0.96 * value) as [number, number, number];
    const { lab: body, rgb } = specifyColour(
      { xyz: covered, illuminant: 'D65', observer: '2deg', geometry: 'di:8' },
      PAINT,
    );
    expect(Math.min(...rgb)).toBeLessThan(-0.01);
    expect(deltaE2000(body, lab)).toBeLessThan(1e-3);
  });

  it('for the 10° observer is an estimate with its possible error', () => {
    const grey = specifyColour({ lab: [60, 0, 0], illuminant: 'D65', observer: '10deg' }, PAINT);
    expect(grey.estimated!.typicalDeltaE).toBeLessThan(grey.estimated!.worstDeltaE);
    // a neutral is neutral for both observers
    expect(deltaE2000(grey.lab, [60, 0, 0])).toBeLessThan(0.3);
    const blue: Lab = [35, 5, -40];
    const seen = specifyColour({ lab: blue, illuminant: 'D65', observer: '10deg' }, PAINT);
    expect(deltaE2000(seen.lab, blue)).toBeGreaterThan(0.5);
  });
});

const WHITE = WHITE_POINTS.D65['2deg'];

function lightness(xyz: Xyz): number {
  return xyzToLab(xyz, 'D65', '2deg')[0];
}

/** The reading of a smooth dielectric of index 1.5 over this colour, with its reflection (glTF 2.0, appendix B). */
function withSurface(xyz: Xyz): Xyz {
  return [0.96 * xyz[0] + 0.04 * WHITE[0], 0.96 * xyz[1] + 0.04 * WHITE[1], 0.96 * xyz[2] + 0.04 * WHITE[2]];
}

describe('removeSurfaceReflection', () => {
  it('finds the share by the index (Fresnel at 0°; 0.04 is that of glTF 2.0)', () => {
    expect(surfaceShare(1.5)).toBeCloseTo(0.04, 12);
    expect(surfaceShare(1.33)).toBeCloseTo(0.02006, 5);
    expect(surfaceShare(1)).toBe(0);
  });

  it('makes a perfect black, which reads Y = 4 and L* 23.7, black', () => {
    const read = withSurface([0, 0, 0]);
    expect(read[1]).toBeCloseTo(4, 12);
    expect(lightness(read)).toBeCloseTo(23.7, 1);
    const { colour, clamped, share } = removeSurfaceReflection(read, WHITE);
    expect(lightness(colour)).toBeCloseTo(0, 9);
    expect(Math.max(...clamped)).toBeLessThan(1e-9);
    expect(share).toBeCloseTo(0.04, 12);
  });

  it('converts a reading of L* 26.6 to the true 9', () => {
    const read = withSurface(labToXyz([9, 0, 0], 'D65', '2deg'));
    expect(lightness(read)).toBeCloseTo(26.6, 1);
    expect(lightness(removeSurfaceReflection(read, WHITE).colour)).toBeCloseTo(9, 9);
  });

  it('keeps white white, in XYZ and in linear light', () => {
    removeSurfaceReflection(WHITE, WHITE).colour.forEach((value, i) => {
      expect(value).toBeCloseTo(WHITE[i]!, 9);
    });
    removeSurfaceReflection([1, 0.52, 0.04], [1, 1, 1]).colour.forEach((value, i) => {
      expect(value).toBeCloseTo([1, 0.5, 0][i]!, 12);
    });
  });

  it('clamps at 0 a reading darker than a surface can have, and says by how much', () => {
    const { colour, clamped } = removeSurfaceReflection([0.016, 0.04, 0.5], [1, 1, 1]);
    expect(colour[0]).toBe(0);
    expect(clamped[0]).toBeCloseTo(0.025, 12);
    expect(clamped[2]).toBe(0);
  });
});
