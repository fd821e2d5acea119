import { Problem } from '../core/problems.ts';

/** How long is waited while the studio is full of other pictures. */
const BUSY_WAIT_MS = 1000;

/** Whether what failed is to be had by asking again: a full queue empties, a missing browser stays missing. */
export function isBusyNow(error: unknown): boolean {
  return error instanceof Problem && error.kind === 'busy' && error.code !== 'renderer-missing';
}

export function waitWhileBusy(): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, BUSY_WAIT_MS));
}
