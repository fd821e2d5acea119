import { Problem } from '../core/problems.ts';

/** Pause before the next try while the studio is full. */
const BUSY_WAIT_MS = 1000;

/**
 * Another try does not help: a missing browser stays missing, a closing studio accepts no more work, a picture that froze
 * the graphics twice would hold up all others for long, and a caller that has left waits for nothing.
 */
const PERMANENT = new Set(['renderer-missing', 'renderer-closing', 'renderer-frozen', 'caller-left']);

/** Whether another try can help: a full queue empties. */
export function isBusyNow(error: unknown): boolean {
  return error instanceof Problem && error.kind === 'busy' && !PERMANENT.has(error.code);
}

export function waitWhileBusy(): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, BUSY_WAIT_MS));
}

/** Two minutes of tries: a download without some of its files is useless. */
const BUSY_TRIES = 120;

/** Does work that needs the studio. While the studio is full, it tries again. */
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
