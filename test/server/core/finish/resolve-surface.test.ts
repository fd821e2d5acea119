import { describe, expect, it } from 'vitest';
import { resolveShading } from '../../../../server/core/finish/resolve-surface.ts';

const volume = { thicknessMm: 6, attenuationColour: '#808080', attenuationDistanceMm: 20 };

describe('the shading of a finish', () => {
  it('is null if unset', () => {
    expect(resolveShading({}, null, 1)).toEqual({
      volume: null,
      specular: null,
      anisotropy: null,
      iridescence: null,
      emissive: null,
    });
  });

  // IEC 61966-2-1: code 128 is 0.215861 linear.
  it('is in metres, radians and linear light', () => {
    const shading = resolveShading(
      {
        volume,
        specular: { factor: 0.5 },
        anisotropy: { strength: 0.6, rotationDegrees: 90 },
        emissive: { colour: '#808080', strength: 3 },
      },
      null,
      1,
    );
    expect(shading.volume).toMatchObject({ thickness: 0.006, attenuationDistance: 0.02 });
    for (const channel of shading.volume!.attenuationColour) expect(channel).toBeCloseTo(0.215861, 6);
    expect(shading.specular).toEqual({ factor: 0.5, colour: [1, 1, 1] });
    expect(shading.anisotropy).toEqual({ strength: 0.6, rotation: Math.PI / 2 });
    expect(shading.emissive!.strength).toBe(3);
    expect(shading.emissive!.colour[1]).toBeCloseTo(0.215861, 6);
  });

  // KhronosGroup/glTF, extensions/2.0/Khronos/KHR_materials_iridescence/README.md: 1.3, 100 nm, 400 nm.
  it('has glTF’s default film if only its factor is given', () => {
    expect(resolveShading({ iridescence: { factor: 1 } }, null, 0).iridescence).toEqual({
      factor: 1,
      ior: 1.3,
      thicknessMinNm: 100,
      thicknessMaxNm: 400,
    });
  });

  it('comes from the article as a whole, and null in the finish removes it', () => {
    const article = { volume, iridescence: { factor: 1, ior: 1.5 } };
    expect(resolveShading({ iridescence: { factor: 0.5 } }, article, 1)).toMatchObject({
      volume: { thickness: 0.006 },
      iridescence: { factor: 0.5, ior: 1.3 },
    });
    expect(resolveShading({ volume: null, iridescence: null }, article, 1)).toMatchObject({
      volume: null,
      iridescence: null,
    });
  });

  it('has no volume without transmission', () => {
    expect(resolveShading({ volume }, null, 0).volume).toBeNull();
  });
});
