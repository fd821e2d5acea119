import { expect, it } from 'vitest';
import {
  addPart,
  countLeading,
  countParts,
  findOpenPart,
  hasPart,
  type PartRanges,
} from '../../../../server/core/job/job.ts';
import { createRandom } from '../../../support/random.ts';

it('says the same as a set, in whatever order parts come, in as few ranges as there are runs', () => {
  const random = createRandom(7);
  for (let round = 0; round < 50; round++) {
    let ranges: PartRanges = [];
    const set = new Set<number>();
    for (let i = 0; i < 60; i++) {
      const part = random.whole(50);
      ranges = addPart(ranges, part);
      set.add(part);
    }
    const all = Array.from({ length: 52 }, (_, part) => part);
    expect(all.filter((part) => hasPart(ranges, part))).toEqual([...set].sort((a, b) => a - b));
    expect(countParts(ranges)).toBe(set.size);
    expect(countLeading(ranges)).toBe(all.find((part) => !set.has(part)));
    expect(ranges).toHaveLength(all.filter((part) => set.has(part) && !set.has(part - 1)).length);
    for (const start of all)
      expect(findOpenPart(ranges, start)).toBe(all.find((part) => part >= start && !set.has(part)) ?? 52);
  }
});

it('leaves the ranges as they are for a part that is in them', () => {
  const ranges: PartRanges = [[2, 5]];
  expect(addPart(ranges, 3)).toBe(ranges);
  expect(countLeading(ranges)).toBe(0);
});
