export const JOB_STATES = ['queued', 'running', 'done', 'failed', 'cancelled'] as const;
export type JobState = (typeof JOB_STATES)[number];

/** Long work, as whoever asked for it sees it. */
export interface Job {
  readonly id: string;
  readonly kind: 'pictures' | 'picture-set';
  readonly product: string;
  readonly state: JobState;
  readonly done: number;
  readonly total: number;
  /** How many parts did not come out, and a line for each of the first hundred. */
  readonly failed: number;
  readonly failures: readonly string[];
  /** While it runs, and once a part is done: milliseconds the rest will take at the pace of the last parts. Not kept. */
  readonly remainingMs?: number;
  /** What was asked for; enough to go on after a restart. */
  readonly request: unknown;
}

/** Keeps jobs over a restart. */
export interface JobStore {
  add(job: Job): Promise<void>;
  /** Keeps state and progress; the request stays as it was added. */
  saveProgress(job: Job): Promise<void>;
  get(id: string): Promise<Job | null>;
  /** Those queued or running, oldest first. */
  listOpen(): Promise<Job[]>;
}
