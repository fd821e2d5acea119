import { stat } from 'node:fs/promises';
import { setTimeout } from 'node:timers/promises';
import { RESULT_TEXTS } from './texts.ts';

/** Signals that end a command. */
export const STOP_SIGNALS = ['SIGINT', 'SIGTERM'] as const;

/** Between two looks at the files, ms. A program may write a large model for seconds: a file counts when it stays the same. */
const LOOK_MS = 500;

/** The states of files; null while one is missing, since a program may replace a file. */
async function look(paths: readonly string[]): Promise<string | null> {
  const states = await Promise.all(paths.map((path) => stat(path).catch(() => null)));
  if (states.includes(null)) return null;
  return states.map((state) => `${state!.ino} ${state!.size} ${state!.mtimeMs}`).join();
}

/**
 * Runs work, and again whenever a file has changed and is whole, until the signal comes. A failure is reported, and does not
 * end the watch.
 * @param report gets what a run throws
 * @returns the exit status of the last run
 */
export async function runWhenever(
  paths: readonly string[],
  run: () => Promise<number>,
  { signal, report }: { readonly signal: AbortSignal; readonly report: (error: unknown) => void },
): Promise<number> {
  for (;;) {
    const seen = await look(paths);
    let status = 2;
    try {
      status = await run();
    } catch (error) {
      report(error);
    }
    console.error(RESULT_TEXTS.watching(paths));
    if (!(await waitForChange(paths, seen, signal))) return status;
  }
}

/** Waits until the files have changed and then stayed the same for one look. @returns false when the signal comes first */
async function waitForChange(paths: readonly string[], seen: string | null, signal: AbortSignal): Promise<boolean> {
  let last = seen;
  for (;;) {
    await setTimeout(LOOK_MS, undefined, { signal }).catch(() => undefined);
    if (signal.aborted) return false;
    const now = await look(paths);
    if (now !== null && now !== seen && now === last) return true;
    last = now;
  }
}
