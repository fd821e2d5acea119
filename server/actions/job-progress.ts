import { addPart, countParts, type Job } from '../core/job/job.ts';
import { JOB_TEXTS } from '../core/texts/answer-texts.ts';

/** Lines of reasons that a job keeps. It counts further failures. */
const FAILURES_KEPT = 100;

/** The job after one more part has ended. @param failure why the part failed; null if it succeeded */
export function addOutcome(job: Job, part: number, failure: string | null): Job {
  const finished = addPart(job.finished, part);
  const done = countParts(finished);
  if (failure === null) return { ...job, finished, done };
  const known = job.failures.includes(failure) || job.failures.length >= FAILURES_KEPT;
  return {
    ...job,
    finished,
    done,
    failed: job.failed + 1,
    failedParts: addPart(job.failedParts, part),
    failures: known ? job.failures : [...job.failures, failure],
  };
}

/** A job whose progress could not be saved, such as on a full disk, as its readers see it. */
export function describeLost({ remainingMs: _, ...job }: Job): Job {
  return { ...job, state: 'failed', failures: [...job.failures, JOB_TEXTS.progressLost] };
}

/** Parts that an estimate is based on. */
const TIMED_PARTS = 20;

/** Estimates the remaining time of a job from its last parts. */
interface RemainingTime {
  /** A part has ended. */
  tick(): void;
  /** A part existed already. It says nothing about the time of others, and neither does the time before the first real one. */
  exclude(): void;
  /** Whole milliseconds for a number of parts; 0 before the first tick. */
  estimate(left: number): number;
}

/** @param now in milliseconds */
export function trackTime(now: () => number): RemainingTime {
  const ticks = [now()];
  return {
    tick() {
      ticks.push(now());
      if (ticks.length > TIMED_PARTS + 1) ticks.shift();
    },
    exclude() {
      if (ticks.length === 1) ticks[0] = now();
    },
    estimate(left) {
      if (ticks.length < 2) return 0;
      return Math.round((left * (ticks.at(-1)! - ticks[0]!)) / (ticks.length - 1));
    },
  };
}
