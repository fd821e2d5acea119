/** Numbers from the first to just before the second. */
export type PartRange = readonly [from: number, end: number];

/**
 * Which parts of a job something holds of: ranges in order that neither touch nor overlap. A job is done mostly from the
 * front, so that twenty thousand parts are a handful of ranges.
 */
export type PartRanges = readonly PartRange[];

/** The ranges with one part more; the same ones where it is in them. */
export function addPart(ranges: PartRanges, part: number): PartRanges {
  if (hasPart(ranges, part)) return ranges;
  const before = ranges.filter(([, end]) => end < part);
  const after = ranges.filter(([from]) => from > part + 1);
  const touching = ranges.slice(before.length, ranges.length - after.length);
  const from = Math.min(part, ...touching.map(([first]) => first));
  const end = Math.max(part + 1, ...touching.map(([, last]) => last));
  return [...before, [from, end], ...after];
}

export function hasPart(ranges: PartRanges, part: number): boolean {
  return ranges.some(([from, end]) => from <= part && part < end);
}

export function countParts(ranges: PartRanges): number {
  return ranges.reduce((sum, [from, end]) => sum + end - from, 0);
}

/** How many parts hold from the very first on, without a gap. */
export function countLeading(ranges: PartRanges): number {
  return ranges[0]?.[0] === 0 ? ranges[0][1] : 0;
}

/** The first part from `start` on that is not in the ranges. */
export function findOpenPart(ranges: PartRanges, start: number): number {
  return ranges.find(([from, end]) => from <= start && start < end)?.[1] ?? start;
}
