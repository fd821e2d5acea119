import { describe, expect, it } from 'vitest';
import { clampF0, findMetal, METAL_NAMES, METALS } from '../../../../server/core/finish/metals.ts';
import { KHRONOS_METALS } from '../../../support/published-metals.ts';

describe('the table of metals', () => {
  it.each(KHRONOS_METALS)('has %s as printed in the Khronos guidelines', (name, f0) => {
    expect(findMetal(name)).toMatchObject({ f0, source: 'khronos', clamped: [] });
  });

  // physicallybased.info v2.1; chromium: Unity Shader Graph documentation.
  it('has metals missing in the guidelines from the stated sources', () => {
    expect(METALS.brass).toMatchObject({ f0: [0.91, 0.778, 0.423], source: 'physicallybased' });
    expect(METALS['stainless-steel'].f0).toEqual([0.669, 0.639, 0.598]);
    expect(METALS.zinc.f0).toEqual([0.808, 0.844, 0.865]);
    expect(METALS.chromium).toMatchObject({ f0: [0.55, 0.556, 0.554], source: 'unity' });
  });

  // Gold in physicallybased.info v2.1 is 1.059, 0.773, 0.307; baseColorFactor allows at most 1 (glTF 2.0,
  // material.pbrMetallicRoughness).
  it('clips gold’s red to glTF’s range, and says so', () => {
    expect(clampF0([1.059, 0.773, 0.307])).toEqual({ f0: [1, 0.773, 0.307], clamped: ['red'] });
    expect(METALS.gold.second).toEqual({ f0: [1, 0.773, 0.307], clamped: ['red'] });
    expect(METAL_NAMES.flatMap((name) => METALS[name].f0).filter((value) => !(value > 0 && value <= 1))).toEqual([]);
  });

  // Largest gap between the two sources: chromium's blue, 0.554 against 0.701.
  it('has second values within 0.15 of the first', () => {
    const gaps = METAL_NAMES.flatMap((name) =>
      (METALS[name].second?.f0 ?? []).map((value, channel) => Math.abs(value - METALS[name].f0[channel]!)),
    );
    expect(Math.max(...gaps)).toBeCloseTo(0.147, 3);
  });

  it('finds a metal in upper and lower case, and by its other usual names', () => {
    expect(findMetal(' Stainless Steel ')?.metal).toBe('stainless-steel');
    expect(findMetal('Chrome')?.metal).toBe('chromium');
    expect(findMetal('aluminum')?.metal).toBe('aluminium');
    expect(findMetal('unobtainium')).toBeUndefined();
    expect(findMetal('toString')).toBeUndefined();
  });
});
