import { describe, expect, it } from 'vitest';
import { linearToLab } from '../../../../server/core/colour/lab.ts';
import { FAMILIES } from '../../../../server/core/finish/finish.ts';
import { judgeDifference, judgeFinish, toleranceOf } from '../../../../server/core/finish/tolerances.ts';

describe('the tolerance of a family', () => {
  // AAMA 2604 and 2605, as quoted: 2 ΔE for solid colours, metallic and mica excluded (2605 §7.1.2).
  it.each(['paint', 'powder-coat', 'plastic', 'ceramic'] as const)('of %s is 2 ΔE, metallics left out', (family) => {
    expect(toleranceOf(family)).toMatchObject({ formula: 'ab', limit: 2, rests: 'standard' });
    expect(toleranceOf(family, true)).toMatchObject({ formula: 'ab', limit: null });
    // The quotations do not say which ΔE (ASTM D2244-15a, §5.2: coaters of aluminium use Hunter units).
    expect(toleranceOf(family).source).toContain('do not say whether Hunter units');
  });

  // Formula: ISO 105-J03; the limit is common practice.
  it.each(['textile', 'leather'] as const)('of %s is CMC(2:1) 1.0, by practice', (family) => {
    expect(toleranceOf(family)).toMatchObject({ formula: 'cmc-2-1', limit: 1, rests: 'practice' });
  });

  it('of all others is ΔE00 2, by practice', () => {
    const others = FAMILIES.filter((family) => toleranceOf(family).formula === 'de2000');
    expect(others).toEqual(['anodised', 'plated', 'bare-metal', 'wood', 'glass', 'stone', 'paper']);
    for (const family of others) expect(toleranceOf(family)).toMatchObject({ limit: 2, rests: 'practice' });
  });
});

describe('a difference is compared with the tolerance of its family, by its formula', () => {
  it('coatings: CIELAB, at most 2 (AAMA 2604/2605, as quoted)', () => {
    const paint = toleranceOf('powder-coat');
    expect(judgeDifference([50, 0, 0], [52, 0, 0], paint)).toMatchObject({
      formula: 'ab',
      difference: 2,
      within: true,
    });
    expect(judgeDifference([50, 0, 0], [52.1, 0, 0], paint).within).toBe(false);
    expect(judgeDifference([50, 0, 0], [60, 0, 0], toleranceOf('powder-coat', true)).within).toBeNull();
  });

  it('cloth: CMC(2:1), where lightness counts half (ISO 105-J03)', () => {
    const cloth = toleranceOf('textile');
    const lighter = judgeDifference([50, 30, 0], [51, 30, 0], cloth);
    const redder = judgeDifference([50, 30, 0], [50, 31, 0], cloth);
    expect(lighter.formula).toBe('cmc-2-1');
    // ISO 105-J03: SL = 0.040975·50 / (1 + 0.01765·50) = 1.0882; SC = 0.0638·30 / (1 + 0.0131·30) + 0.638 = 2.0120.
    expect(lighter.difference).toBeCloseTo(1 / (2 * 1.0882), 3);
    expect(redder.difference).toBeCloseTo(1 / 2.012, 3);
  });
});

// A coat of 18 % grey, specified one L* lighter than delivered.
const baseColour = [0.18, 0.18, 0.18] as const;
const [lightness, a, b] = linearToLab(baseColour);
const coat = {
  specifiedLab: [lightness + 1, a, b] as const,
  delivered: { lab: [lightness, a, b] as const, hex: '#767676', deltaE: 1 },
};

it('a solid coat has a limit of 2 ΔE, and a metallic one is judged by eye (AAMA 2604/2605, as quoted)', () => {
  const solid = judgeFinish({ family: 'powder-coat' }, { ...coat, metalness: 0 });
  expect(solid).toMatchObject({ limit: 2, within: true });
  expect(solid.difference).toBeCloseTo(1, 9);
  const flaked = judgeFinish({ family: 'powder-coat' }, { ...coat, metalness: 1 });
  expect(flaked).toMatchObject({ limit: null, within: null });
  expect(flaked.difference).toBeCloseTo(1, 9);
});

it('an unmeasurable map is not judged', () => {
  const unknown = judgeFinish({ family: 'textile' }, { ...coat, delivered: null, metalness: 0 });
  expect(unknown).toMatchObject({ limit: 1, difference: null, within: null });
});

it('bare metal has no flakes: it keeps its limit', () => {
  expect(judgeFinish({ family: 'bare-metal' }, { ...coat, metalness: 1 })).toMatchObject({ limit: 2, within: true });
});

it('a cloth whose map moves its mean is judged by the delivered colour', () => {
  const moved = { ...coat, delivered: { lab: [lightness + 4, a, b] as const, hex: '#808080', deltaE: 3 } };
  expect(judgeFinish({ family: 'wood' }, { ...moved, metalness: 0 }).difference).toBeGreaterThan(2);
});
