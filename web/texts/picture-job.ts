import { count, formatNumber } from '../../server/core/texts/format-text.ts';

/** Texts of a job that makes pictures: its controls, its progress and its outcome. */
export const pictureJobTexts = {
  size: 'Size, px',
  format: 'Format',
  formats: { webp: 'WebP', png: 'PNG', jpg: 'JPEG on white' },
  progress: 'Progress',
  skipped: 'Skipped products',
  failed: 'Failed pictures',
  moreReasons: (n: number) => `and ${formatNumber(n)} more`,
  showAll: 'Show all in order',
  showMoreOf: (total: number) => `Show more of ${count(total, 'picture')}`,
  connectionLost: 'The connection was lost, but the job continues. Reload the page to see its progress.',

  // states
  queued: (done: number, total: number) => `${ratio(done, total)}. Waiting for another job to finish.`,
  starting: (done: number, total: number) => `${ratio(done, total)}. The first pictures take the longest.`,
  running: (done: number, total: number, timeLeft: string) => `${ratio(done, total)}, ${timeLeft}.`,
  allDone: (total: number) => {
    if (total === 0) return 'There are no pictures to make.';
    return total === 1 ? 'The picture is done.' : `All ${formatNumber(total)} pictures are done.`;
  },
  someFailed: (total: number, failures: number) =>
    `${ratio(total - failures, total)} ${total - failures === 1 ? 'is' : 'are'} done; ${formatNumber(failures)} failed.`,
  allFailed: (total: number) => (total === 1 ? 'The picture failed.' : `All ${formatNumber(total)} pictures failed.`),
  cancelled: (done: number, total: number) => `Cancelled after ${ratio(done, total)}. Finished pictures are kept.`,

  // time left
  fewSecondsLeft: 'a few seconds left',
  secondsLeft: (seconds: number) => `about ${count(seconds, 'second')} left`,
  minutesLeft: (minutes: number) => `about ${count(minutes, 'minute')} left`,
  hoursLeft: (hours: number, minutes: number) =>
    `about ${count(hours, 'hour')}${minutes === 0 ? '' : ` ${count(minutes, 'minute')}`} left`,
} as const;

function ratio(done: number, total: number): string {
  return `${formatNumber(done)} of ${count(total, 'picture')}`;
}
