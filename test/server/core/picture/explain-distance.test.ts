import { describe, expect, it } from 'vitest';
import { explainDistance } from '../../../../server/core/picture/explain-distance.ts';

const plain = {
  estimated: null,
  colourFrom: 'specification',
  delivered: { lab: [50, 0, 0], hex: '#777777', deltaE: 0 },
  outOfGamutDeltaE: 0,
  chipDeltaE: 0,
  includedLab: null,
  displayDeltaE: null,
  metalness: 0,
  maps: {},
  supplied: null,
  transmission: 0,
} as const;

describe('why a swatch is not what was specified', () => {
  it('nothing, for a chip of a colour sRGB has to the bit', () => {
    expect(explainDistance(plain, 'chip')).toEqual([]);
  });

  it('a pattern that cannot reach the colour, or has one of its own, with the distance of its mean', () => {
    const patterned = { ...plain, maps: { colour: 'a' }, delivered: { ...plain.delivered, deltaE: 2.34 } };
    expect(explainDistance(patterned, 'panel', true).join(' ')).toMatch(/varies too much.*2\.3/);
    expect(explainDistance({ ...patterned, colourFrom: 'map' }, 'panel', true).join(' ')).toMatch(
      /mean of the colour map.*2\.3/,
    );
  });

  it.each([
    ['10° readings are estimated', { estimated: { typicalDeltaE: 0.3, worstDeltaE: 1.1 } }, /10° observer.*0\.3.*1\.1/],
    ['sRGB ends', { outOfGamutDeltaE: 4.26 }, /sRGB has no such colour.*4\.3/],
    ['8 bits round', { chipDeltaE: 0.21 }, /8 bits.*0\.21/],
    ['the reading held the reflection', { includedLab: [50, 0, 0] as const }, /reflection of the surface included/],
    ['another colour is approved for screens', { displayDeltaE: 2.34 }, /approved screen colour.*2\.3.*delivered/],
  ])('%s', (_, change, says) => {
    const why = explainDistance({ ...plain, ...change }, 'chip');
    expect(why).toHaveLength(1);
    expect(why[0]).toMatch(says);
  });

  it('rounding is not told where the gamut is, which is more by far', () => {
    expect(explainDistance({ ...plain, outOfGamutDeltaE: 4, chipDeltaE: 4.1 }, 'chip')).toHaveLength(1);
  });

  it('a metal’s chip is its colour at normal incidence, also where all else is exact', () => {
    expect(explainDistance({ ...plain, metalness: 1 }, 'chip')).toEqual([expect.stringMatching(/normal incidence/)]);
    expect(explainDistance({ ...plain, metalness: 1 }, 'sphere').join(' ')).not.toContain('normal incidence');
  });

  it('light, shine and tone curve on a lit shape, and for metal what it mirrors', () => {
    expect(explainDistance(plain, 'sphere')).toEqual([expect.stringMatching(/light of the studio.*tone curve/)]);
    expect(explainDistance({ ...plain, metalness: 1 }, 'sphere')).toEqual([expect.stringMatching(/mirrors/)]);
  });

  it('the ground that shines through glass, which even light does not pass', () => {
    const glass = { ...plain, transmission: 1 };
    expect(explainDistance(glass, 'panel')).toEqual([expect.anything(), expect.stringMatching(/on white/)]);
    expect(explainDistance(glass, 'panel', true)).toEqual([]);
  });

  it('the folds of a cutting, unless the light is even', () => {
    expect(explainDistance(plain, 'cutting')).toEqual([expect.anything(), expect.stringMatching(/folds.*mean/)]);
    expect(explainDistance(plain, 'cutting', true)).toEqual([]);
  });

  it('the pattern on every shape that shows it, in even light too; a chip shows none', () => {
    const woven = { ...plain, maps: { colour: 'a'.repeat(64) } };
    expect(explainDistance(woven, 'sphere')).toHaveLength(2);
    expect(explainDistance(woven, 'sphere', true)).toEqual([expect.stringMatching(/pattern.*mean/)]);
    expect(explainDistance(woven, 'chip')).toEqual([]);
  });
});
