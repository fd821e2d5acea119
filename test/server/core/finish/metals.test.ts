import { describe, expect, it } from 'vitest';
import { clampF0, findMetal, METAL_NAMES, METALS } from '../../../../server/core/finish/metals.ts';

describe('the table of metals', () => {
  // Khronos 3D Commerce Asset Creation Guidelines v1.0.0 (20 Oct 2020), linear column
  it.each([
    ['iron', [0.56, 0.57, 0.58]],
    ['silver', [0.972, 0.96, 0.915]],
    ['aluminium', [0.913, 0.921, 0.925]],
    ['gold', [1, 0.766, 0.336]],
    ['copper', [0.955, 0.637, 0.538]],
    ['nickel', [0.66, 0.609, 0.526]],
    ['titanium', [0.542, 0.497, 0.449]],
    ['cobalt', [0.662, 0.655, 0.634]],
    ['platinum', [0.672, 0.637, 0.585]],
  ])('has %s as the Khronos guidelines print it', (name, f0) => {
    expect(findMetal(name)).toMatchObject({ f0, source: 'khronos', clamped: [] });
  });

  // physicallybased.info v2.1; chromium: Unity Shader Graph documentation
  it('has what the guidelines lack from where it says', () => {
    expect(METALS.brass).toMatchObject({ f0: [0.91, 0.778, 0.423], source: 'physicallybased' });
    expect(METALS['stainless-steel'].f0).toEqual([0.669, 0.639, 0.598]);
    expect(METALS.zinc.f0).toEqual([0.808, 0.844, 0.865]);
    expect(METALS.chromium).toMatchObject({ f0: [0.55, 0.556, 0.554], source: 'unity' });
  });

  // gold in physicallybased.info v2.1 is 1.059, 0.773, 0.307; baseColorFactor goes to 1 (glTF 2.0, material.pbrMetallicRoughness)
  it('cuts gold’s red to what glTF can hold, and says so', () => {
    expect(clampF0([1.059, 0.773, 0.307])).toEqual({ f0: [1, 0.773, 0.307], clamped: ['red'] });
    expect(METALS.gold.second).toEqual({ f0: [1, 0.773, 0.307], clamped: ['red'] });
    expect(METAL_NAMES.flatMap((name) => METALS[name].f0).filter((value) => !(value > 0 && value <= 1))).toEqual([]);
  });

  // largest gap between the two sources: chromium's blue, 0.554 against 0.701
  it('has second values that are within 0.15 of the first', () => {
    const gaps = METAL_NAMES.flatMap((name) =>
      (METALS[name].second?.f0 ?? []).map((value, channel) => Math.abs(value - METALS[name].f0[channel]!)),
    );
    expect(Math.max(...gaps)).toBeCloseTo(0.147, 3);
  });

  it('finds a metal whatever the case, and by its other usual name', () => {
    expect(findMetal(' Stainless Steel ')?.metal).toBe('stainless-steel');
    expect(findMetal('Chrome')?.metal).toBe('chromium');
    expect(findMetal('aluminum')?.metal).toBe('aluminium');
    expect(findMetal('unobtainium')).toBeUndefined();
    expect(findMetal('toString')).toBeUndefined();
  });
});
