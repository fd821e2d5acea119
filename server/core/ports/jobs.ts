export const JOB_STATES = ['queued', 'running', 'done', 'failed', 'cancelled'] as const;
export type JobState = (typeof JOB_STATES)[number];

/** Long work, as whoever asked for it sees it. */
export interface Job {
  readonly id: string;
  readonly kind: 'pictures';
  readonly product: string;
  readonly state: JobState;
  readonly done: number;
  readonly total: number;
  /** One line for each part that did not come out. */
  readonly failures: readonly string[];
  /** What was asked for; enough to go on after a restart. */
  readonly request: unknown;
}

/** Keeps jobs over a restart. */
export interface JobStore {
  save(job: Job): Promise<void>;
  get(id: string): Promise<Job | null>;
  /** Those queued or running, oldest first. */
  listOpen(): Promise<Job[]>;
}
