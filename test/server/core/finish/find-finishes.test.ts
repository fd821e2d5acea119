import { describe, expect, it } from 'vitest';
import { deltaE2000, type Lab } from '../../../../server/core/colour/lab.ts';
import { makeColourIndex } from '../../../../server/core/finish/find-finishes.ts';
import { createRandom } from '../../../support/random.ts';

function makeColours(count: number, seed: number): Lab[] {
  const random = createRandom(seed);
  return Array.from({ length: count }, () => [100 * random.next(), 120 * random.next() - 60, 120 * random.next() - 60]);
}

// Compared with a search of all pairs by CIEDE2000 (CIE 142-2001), whose 34 published pairs lab.test.ts checks.
describe('an index of colours', () => {
  it('lists the same nearest colours as a full search, in the same order', () => {
    const colours = makeColours(2000, 3);
    const index = makeColourIndex(colours, (lab) => lab);
    for (const asked of makeColours(40, 4)) {
      const all = colours.map((item) => ({ item, deltaE: deltaE2000(asked, item) }));
      expect(index.listNearest(asked, 5)).toEqual(all.sort((a, b) => a.deltaE - b.deltaE).slice(0, 5));
    }
  });

  it('returns only accepted items, and fewer than requested if there are no more', () => {
    const colours = makeColours(50, 5);
    const index = makeColourIndex(colours, (lab) => lab);
    const dark = colours.filter(([lightness]) => lightness < 20);
    const found = index.listNearest([90, 0, 0], 100, ([lightness]) => lightness < 20);
    expect(found).toHaveLength(dark.length);
    expect(index.listNearest([50, 0, 0], 0)).toEqual([]);
    expect(makeColourIndex<Lab>([], (lab) => lab).listNearest([50, 0, 0], 3)).toEqual([]);
  });

  it('lists the same pairs as a full search, each once', () => {
    const colours = makeColours(400, 6);
    const index = makeColourIndex(
      colours.map((lab, order) => ({ lab, order })),
      ({ lab }) => lab,
    );
    const expected: string[] = [];
    for (let a = 0; a < colours.length; a++)
      for (let b = a + 1; b < colours.length; b++)
        if (deltaE2000(colours[a]!, colours[b]!) <= 3) expected.push(`${a} ${b}`);
    const pairs = index.listPairs(3, 10_000);
    expect(expected.length).toBeGreaterThan(5);
    expect(pairs.map(({ a, b }) => `${a.order} ${b.order}`).sort()).toEqual(expected.sort());
    expect(index.listPairs(3, 2)).toEqual(pairs.slice(0, 2));
  });
});
