import type { JobAnswer } from '../../../server/http/contracts/job.ts';
import { pictureJobTexts as texts } from '../../texts/picture-job.ts';

/** The progress or the outcome of a picture job, in one or two sentences. */
export function describeJob({ state, done, total, failed, remainingMs }: Omit<JobAnswer, 'request'>): string {
  switch (state) {
    case 'queued':
      return texts.queued(done, total);
    case 'running':
      return remainingMs === undefined
        ? texts.starting(done, total)
        : texts.running(done, total, describeTimeLeft(remainingMs));
    case 'done':
      return failed === 0 ? texts.allDone(total) : texts.someFailed(total, failed);
    case 'failed':
      return texts.allFailed(total);
    case 'cancelled':
      return texts.cancelled(done, total);
  }
}

/** Rounded as people plan: steps of ten seconds below a minute, then minutes, then hours and steps of ten minutes. */
export function describeTimeLeft(ms: number): string {
  const seconds = ms / 1000;
  if (seconds <= 10) return texts.fewSecondsLeft;
  if (seconds <= 50) return texts.secondsLeft(Math.ceil(seconds / 10) * 10);
  const minutes = Math.max(1, Math.round(seconds / 60));
  if (minutes < 60) return texts.minutesLeft(minutes);
  const rounded = Math.round(minutes / 10) * 10;
  return texts.hoursLeft(Math.floor(rounded / 60), rounded % 60);
}
