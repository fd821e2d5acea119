import { Problem } from '../core/problems.ts';

/** How long is waited while the studio is full of other pictures. */
const BUSY_WAIT_MS = 1000;

/** What asking again does not help against: a missing browser stays missing, and a closing studio takes nothing more. */
const STAYS = new Set(['renderer-missing', 'renderer-closing']);

/** Whether what failed is to be had by asking again: a full queue empties. */
export function isBusyNow(error: unknown): boolean {
  return error instanceof Problem && error.kind === 'busy' && !STAYS.has(error.code);
}

export function waitWhileBusy(): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, BUSY_WAIT_MS));
}

/** How often is waited for a busy studio: a download half done is of no use. */
const BUSY_TRIES = 120;

/** Does something that needs the studio, and waits while that is full. */
export async function patiently<T>(take: () => Promise<T>): Promise<T> {
  for (let attempt = 1; ; attempt++) {
    try {
      return await take();
    } catch (error) {
      if (!isBusyNow(error) || attempt === BUSY_TRIES) throw error;
      await waitWhileBusy();
    }
  }
}
