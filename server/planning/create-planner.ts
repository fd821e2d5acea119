import { availableParallelism } from 'node:os';
import type { Planner, PlanResults, PlanTask } from '../core/ports/planner.ts';
import { Problem } from '../core/problems.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';
import { createThreadPool } from '../threads/thread-pool.ts';

/** The hardest check set of twelve slots of forty finishes takes half of this on a slow machine. */
const TASK_TIMEOUT_MS = 60_000;
/** Tables of half a million pairs, and a schedule of twenty thousand rows, have a tenth of this. */
const HEAP_MB = 1024;
/**
 * Findings are part of the answer to a change that is stored already, and to every reading of a schedule. They take turns with
 * all other calculations together, and no other one keeps them out.
 */
const FINDINGS = 'schedule-findings' satisfies PlanTask['kind'];

/** Other calculations that may wait. Each waits for those before it, a minute at most for each. */
const WAITING = 50;

const SOURCE_WORKER = new URL('./worker/worker.mjs', import.meta.url);

/** The {@link Planner}. `close` ends its threads. */
export function createPlanner(
  workerEntry = SOURCE_WORKER,
  timeoutMs = TASK_TIMEOUT_MS,
): Planner & { close(): Promise<void> } {
  const pool = createThreadPool<PlanTask, PlanResults>({
    entry: workerEntry,
    // two at least, so that one hard check set does not hold up a count
    count: Math.max(2, Math.min(4, availableParallelism() - 1)),
    heapMb: HEAP_MB,
    timeoutMs,
    refuse: (cause) => new Problem('work-limit', { detail: REQUEST_PROBLEMS['work-limit'](timeoutMs / 1000), cause }),
  });
  let waiting = 0;
  return {
    async run(task, signal) {
      if (task.kind === FINDINGS) return pool.run(task, [], { owner: FINDINGS, signal });
      if (waiting >= WAITING + pool.count) {
        throw new Problem('queue-full', { detail: REQUEST_PROBLEMS['queue-full'](WAITING) });
      }
      waiting++;
      try {
        return await pool.run(task, [], { signal });
      } finally {
        waiting--;
      }
    },
    close: () => pool.close(),
  };
}
