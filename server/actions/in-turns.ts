import type { Sliced } from '../core/slices.ts';

/** Does sliced work with a turn of the event loop after each slice, so that other calls are answered in between. */
export async function inTurns<T>(work: Sliced<T>): Promise<T> {
  for (;;) {
    const { done, value } = work.next();
    if (done) return value;
    await giveTurn();
  }
}

/** Lets other calls have a turn of the event loop. */
export function giveTurn(): Promise<void> {
  return new Promise((resolve) => setImmediate(resolve));
}
