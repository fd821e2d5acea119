import type { PartRanges } from '../job/part-ranges.ts';

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
