import pLimit from 'p-limit';
import { Problem } from '../server/core/problems.ts';
import { PICTURE_PROBLEMS } from '../server/core/texts/problems/picture.ts';
import { PRODUCT_PROBLEMS } from '../server/core/texts/problems/product.ts';

/** Runs one shot at a time, in order; beyond the limit it refuses. */
interface ShotQueue {
  /** `soon`: quick work, which runs before slow work and after other quick work. */
  run<Result>(work: () => Promise<Result>, soon?: boolean): Promise<Result>;
  /** Refuses waiting and new work; resolves when the current work has ended. */
  close(): Promise<void>;
}

interface Waiting {
  readonly start: () => void;
  readonly refuse: (problem: Problem) => void;
}

/** @param limit shots that may wait beside the current one */
export function createShotQueue(limit: number): ShotQueue {
  const quick: Waiting[] = [];
  const slow: Waiting[] = [];
  let busy = false;
  let closed = false;
  let ended = () => {};

  function next(): void {
    const waiting = quick.shift() ?? slow.shift();
    busy = waiting !== undefined;
    if (waiting) waiting.start();
    else ended();
  }

  return {
    run(work, soon = false) {
      if (closed) return Promise.reject(createClosedProblem());
      if (quick.length + slow.length >= limit) {
        return Promise.reject(
          new Problem('renderer-busy', {
            detail: PICTURE_PROBLEMS['renderer-busy'](limit),
            expected: `at most ${limit} waiting`,
          }),
        );
      }
      return new Promise((resolve, reject) => {
        const start = () => void work().then(resolve, reject).finally(next);
        if (busy) (soon ? quick : slow).push({ start, refuse: reject });
        else {
          busy = true;
          start();
        }
      });
    },
    async close() {
      closed = true;
      for (const { refuse } of [...quick.splice(0), ...slow.splice(0)]) refuse(createClosedProblem());
      if (busy) {
        await new Promise<void>((resolve) => {
          ended = resolve;
        });
      }
    },
  };
}

/** The answer to shots that arrive or wait while the renderer closes. */
export function createClosedProblem(): Problem {
  return new Problem('renderer-closing', {
    detail: PICTURE_PROBLEMS['renderer-closing'],
  });
}

/**
 * Runs at most `running` tasks at once and lets at most `waiting` wait. It refuses the rest with `queue-full`. Each
 * task holds whole pictures in memory, sixteen megabytes each at 2048 px, so a burst would need too much.
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
