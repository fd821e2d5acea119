import { Problem } from '../server/core/problems.ts';

/**
 * Runs at most `running` things at once and lets at most `waiting` wait; more are refused with the problem `queue-full`.
 * Encoding holds whole pictures in memory, sixteen megabytes each at 2048 px: a burst would hold them all at once.
 */
export function limitWork(running: number, waiting: number): <T>(work: () => Promise<T>) => Promise<T> {
  let busy = 0;
  const queue: (() => void)[] = [];
  return async (work) => {
    if (busy >= running) {
      if (queue.length >= waiting) {
        throw new Problem('queue-full', {
          detail: `${waiting} pictures are waiting already. Ask again in a few seconds.`,
        });
      }
      await new Promise<void>((resolve) => queue.push(resolve));
    } else busy++;
    try {
      return await work();
    } finally {
      const next = queue.shift();
      // the place is handed on, so that nobody slips in between
      if (next) next();
      else busy--;
    }
  };
}
