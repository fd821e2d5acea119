import { Problem } from '../core/problems.ts';

/** Pause before the next try while the studio is full of other pictures, ms. */
const BUSY_WAIT_MS = 1000;

/** Trying again does not help here: a missing browser stays missing, and a closing studio takes nothing more. */
const PERMANENT = new Set(['renderer-missing', 'renderer-closing']);

/** Whether trying again can help: a full queue empties. */
export function isBusyNow(error: unknown): boolean {
  return error instanceof Problem && error.kind === 'busy' && !PERMANENT.has(error.code);
}

export function waitWhileBusy(): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, BUSY_WAIT_MS));
}

/** Many tries, since half a download is of no use. */
const BUSY_TRIES = 120;

/** Does work that needs the studio, and tries again while the studio is full. */
export async function retryWhileBusy<T>(work: () => Promise<T>): Promise<T> {
  for (let attempt = 1; ; attempt++) {
    try {
      return await work();
    } catch (error) {
      if (!isBusyNow(error) || attempt === BUSY_TRIES) throw error;
      await waitWhileBusy();
    }
  }
}
