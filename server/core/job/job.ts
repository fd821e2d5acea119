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

export const JOB_STATES = ['queued', 'running', 'done', 'failed', 'cancelled'] as const;
export type JobState = (typeof JOB_STATES)[number];

/** Long work, as its caller sees it. */
export interface Job {
  readonly id: string;
  readonly kind: 'pictures' | 'picture-set';
  /** Null where it is about more than one: the pictures of a line. */
  readonly product: string | null;
  /** The product was deleted meanwhile: one of the same code that came after it is another, and the job is not for it. */
  readonly productGone?: true;
  /** Set where it is about a line. */
  readonly line?: string;
  readonly state: JobState;
  /** Parts that are over, those that failed included. */
  readonly done: number;
  readonly total: number;
  /** How many parts did not come out, and a line for each of the first hundred; lines that are the same stand once. */
  readonly failed: number;
  readonly failures: readonly string[];
  /** Parts that are over; several are under way at once, so that they end in another order than they began. */
  readonly finished: PartRanges;
  /** Those of them that did not come out. */
  readonly failedParts: PartRanges;
  /** While it runs, and once its first parts are done: milliseconds the rest will take at the pace of the last. Not kept. */
  readonly remainingMs?: number;
  /** What was asked for; enough to go on after a restart. */
  readonly request: unknown;
}

/** A job in a list: without what was asked for, and what failed. */
export type ListedJob = Pick<
  Job,
  'id' | 'kind' | 'product' | 'line' | 'state' | 'done' | 'total' | 'failed' | 'remainingMs'
>;

/** Keeps jobs over a restart. */
export interface JobStore {
  add(job: Job): Promise<void>;
  /** Keeps state and progress; the request stays as it was added. */
  saveProgress(job: Job): Promise<void>;
  get(id: string): Promise<Job | null>;
  /** Those queued or running, oldest first. */
  listOpen(): Promise<Job[]>;
  /** The last so many, the latest first; those of a product that still stands, or of a line, where one is given. */
  listLast(limit: number, of?: { readonly product?: string; readonly line?: string }): Promise<ListedJob[]>;
}
