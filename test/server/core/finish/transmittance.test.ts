import { describe, expect, it } from 'vitest';
import { transmittance } from '../../../../server/core/finish/check-finish.ts';

describe('light through a body', () => {
  // T(x) = c ^ (x / d): KhronosGroup/glTF, extensions/2.0/Khronos/KHR_materials_volume/README.md, Attenuation; by hand
  it.each([
    [0.5, 0.006, 0.006, 0.5],
    [0.5, 0.006, 0.003, Math.SQRT1_2],
    [0.5, 0.006, 0.012, 0.25],
    [0.8, 0.02, 0.01, 0.89442719],
  ])('of colour %d after %d m is, after %d m, %d', (c, attenuationDistance, path, expected) => {
    const left = transmittance({ attenuationColour: [c, 1, 0], attenuationDistance }, path);
    expect(left[0]).toBeCloseTo(expected, 8);
    expect(left.slice(1)).toEqual([1, 0]);
  });
});
