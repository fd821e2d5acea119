import { describe, expect, it } from 'vitest';
import { removeSurfaceReflection, surfaceShare } from '../../../../server/core/colour/remove-surface-reflection.ts';
import { labToXyz, WHITE_POINTS, type Xyz, xyzToLab } from '../../../../server/core/colour/xyz-lab.ts';

const WHITE = WHITE_POINTS.D65['2deg'];

function lightness(xyz: Xyz): number {
  return xyzToLab(xyz, 'D65', '2deg')[0];
}

/** What a smooth dielectric of index 1.5 over this colour reads with its reflection (glTF 2.0, appendix B). */
function withSurface(xyz: Xyz): Xyz {
  return [0.96 * xyz[0] + 0.04 * WHITE[0], 0.96 * xyz[1] + 0.04 * WHITE[1], 0.96 * xyz[2] + 0.04 * WHITE[2]];
}

describe('removeSurfaceReflection', () => {
  it('knows the share by the index (Fresnel at 0°; 0.04 is that of glTF 2.0)', () => {
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

  it('takes L* 26.6 as read to the true 9', () => {
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

  it('cuts at 0 what is darker than a surface can read, and says by how much', () => {
    const { colour, clamped } = removeSurfaceReflection([0.016, 0.04, 0.5], [1, 1, 1]);
    expect(colour[0]).toBe(0);
    expect(clamped[0]).toBeCloseTo(0.025, 12);
    expect(clamped[2]).toBe(0);
  });
});
