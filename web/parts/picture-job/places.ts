import { signal } from '@preact/signals';
import type { ArrivedPicture } from '../../../server/http/picture-answers.ts';

/** Places on the page: two rows of six. */
const PLACES = 12;
/** Places that change at a time: more at once would only flicker. */
const CHANGED_AT_ONCE = 2;

/**
 * The latest pictures, each in a place of its own. Once all places are taken the oldest picture gives way where it stands,
 * so that nothing on the page moves. What arrives faster than anyone could look is passed over.
 */
export function createPlaces() {
  const shown = signal<readonly ArrivedPicture[]>([]);
  let waiting: ArrivedPicture[] = [];
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
    add(arrived: readonly ArrivedPicture[]): void {
      waiting = [...waiting, ...arrived].slice(-PLACES);
    },
    show: () => put(CHANGED_AT_ONCE),
    /** Nothing more comes: what waits is shown. */
    settle: () => put(PLACES),
    clear(): void {
      shown.value = [];
      waiting = [];
      next = 0;
    },
  };
}
