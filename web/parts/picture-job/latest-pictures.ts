import { signal } from '@preact/signals';
import type { JobPicture } from '../../../server/http/contracts/job.ts';

/** Two rows of six. */
const PLACES = 12;
/** More changes at once would flicker. */
const CHANGES_PER_STEP = 2;

/**
 * The latest pictures of a job, each in a fixed place on the page. Once all places are full, a new picture replaces the
 * oldest one in its place, so that nothing moves. Pictures that arrive faster than they can be shown are skipped.
 */
export function createLatestPictures() {
  const shown = signal<readonly JobPicture[]>([]);
  let waiting: JobPicture[] = [];
  let next = 0;

  function put(count: number): void {
    if (waiting.length === 0) return;
    const places = [...shown.value];
    for (const picture of waiting.splice(0, count)) {
      places[next] = picture;
      next = (next + 1) % PLACES;
    }
    shown.value = places;
  }

  return {
    count: PLACES,
    shown,
    add(arrived: readonly JobPicture[]): void {
      waiting = [...waiting, ...arrived].slice(-PLACES);
    },
    showNext: () => put(CHANGES_PER_STEP),
    /** Shows all that waits, when no more pictures will arrive. */
    showRest: () => put(PLACES),
    clear(): void {
      shown.value = [];
      waiting = [];
      next = 0;
    },
  };
}
