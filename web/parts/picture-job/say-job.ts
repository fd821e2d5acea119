import type { JobAnswer } from '../../../server/http/picture-answers.ts';
import { count, formatNumber } from '../../format.ts';

/** How a job stands, in a sentence. */
export function sayJob({ state, done, total, failed, remainingMs }: Omit<JobAnswer, 'request'>): string {
  const sum = `${formatNumber(done)} of ${count(total, 'picture')}`;
  switch (state) {
    case 'queued':
      return `${sum}: waiting until another job is done.`;
    case 'running':
      return remainingMs === undefined
        ? `${sum}: the first ones take longest.`
        : `${sum}; ${sayRemaining(remainingMs)}.`;
    case 'done':
      return failed === 0
        ? `${count(total, 'picture')}: all made.`
        : `${formatNumber(total - failed)} of ${count(total, 'picture')} made; ${formatNumber(failed)} did not come out.`;
    case 'failed':
      return total === 1 ? 'The picture did not come out.' : `None of ${count(total, 'picture')} came out.`;
    case 'cancelled':
      return `Cancelled after ${sum}; what was made is kept.`;
  }
}

/** In words one plans by: below a minute in steps of ten seconds, then minutes, then hours and tens of minutes. */
export function sayRemaining(ms: number): string {
  const seconds = ms / 1000;
  if (seconds <= 10) return 'a few seconds left';
  if (seconds <= 50) return `about ${Math.ceil(seconds / 10) * 10} seconds left`;
  const minutes = Math.max(1, Math.round(seconds / 60));
  if (minutes < 60) return `about ${count(minutes, 'minute')} left`;
  const tens = Math.round(minutes / 10) * 10;
  const rest = tens % 60 === 0 ? '' : ` ${tens % 60} minutes`;
  return `about ${count(Math.floor(tens / 60), 'hour')}${rest} left`;
}
