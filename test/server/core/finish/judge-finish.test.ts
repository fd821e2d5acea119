import { expect, it } from 'vitest';
import { linearToLab } from '../../../../server/core/colour/lab.ts';
import { judgeFinish } from '../../../../server/core/finish/judge-difference.ts';

// a coat of 18 % grey, specified one L* lighter than it is delivered
const baseColour = [0.18, 0.18, 0.18] as const;
const [lightness, a, b] = linearToLab(baseColour);
const coat = {
  specifiedLab: [lightness + 1, a, b] as const,
  delivered: { lab: [lightness, a, b] as const, hex: '#767676', deltaE: 1 },
};

it('a solid coat is held to 2 ΔE, one with metal in it is judged by eye (AAMA 2604/2605, as quoted)', () => {
  const solid = judgeFinish({ family: 'powder-coat' }, { ...coat, metalness: 0 });
  expect(solid).toMatchObject({ limit: 2, within: true });
  expect(solid.difference).toBeCloseTo(1, 9);
  const flaked = judgeFinish({ family: 'powder-coat' }, { ...coat, metalness: 1 });
  expect(flaked).toMatchObject({ limit: null, within: null });
  expect(flaked.difference).toBeCloseTo(1, 9);
});

it('of a map that cannot be measured nothing is judged', () => {
  const unknown = judgeFinish({ family: 'textile' }, { ...coat, delivered: null, metalness: 0 });
  expect(unknown).toMatchObject({ limit: 1, difference: null, within: null });
});

it('bare metal has no flakes: it keeps its limit', () => {
  expect(judgeFinish({ family: 'bare-metal' }, { ...coat, metalness: 1 })).toMatchObject({ limit: 2, within: true });
});

it('a cloth whose map moves its mean is judged by what is delivered', () => {
  const moved = { ...coat, delivered: { lab: [lightness + 4, a, b] as const, hex: '#808080', deltaE: 3 } };
  expect(judgeFinish({ family: 'wood' }, { ...moved, metalness: 0 }).difference).toBeGreaterThan(2);
});
