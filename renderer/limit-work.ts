import pLimit from 'p-limit';
import { Problem } from '../server/core/problems.ts';
import { PRODUCT_PROBLEMS } from '../server/core/texts/problems/product.ts';

/**
 * Runs at most `running` pieces of work at once and lets at most `waiting` wait; the rest is refused with `queue-full`.
 * Encoding holds whole pictures in memory, sixteen megabytes each at 2048 px: a burst would hold them all at once.
 */
export function limitWork(running: number, waiting: number): <T>(work: () => Promise<T>) => Promise<T> {
  const limit = pLimit(running);
  return async (work) => {
    if (limit.activeCount + limit.pendingCount >= running + waiting) {
      throw new Problem('queue-full', {
        detail: PRODUCT_PROBLEMS['queue-full'].pictures(waiting),
      });
    }
    return limit(work);
  };
}
