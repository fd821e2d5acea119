import { Problem } from '../server/core/problems.ts';

/** One thing at a time, in the order asked; beyond the limit nothing is taken. */
export interface ShotQueue {
  run<Result>(work: () => Promise<Result>): Promise<Result>;
  /** Refuses what waits and what comes; resolves when what runs has ended. */
  close(): Promise<void>;
}

/** `limit`: shots that may wait beside the one under way. */
export function createShotQueue(limit: number): ShotQueue {
  let waiting = 0;
  let closed = false;
  let last: Promise<unknown> = Promise.resolve();
  return {
    run(work) {
      if (closed) return Promise.reject(createClosedProblem());
      if (waiting > limit) {
        return Promise.reject(
          new Problem('renderer-busy', {
            detail: `${limit} shots are waiting already. Ask again in a few seconds.`,
            expected: `at most ${limit} waiting`,
          }),
        );
      }
      waiting++;
      const result = last.then(() => {
        if (closed) throw createClosedProblem();
        return work();
      });
      last = result.then(
        () => waiting--,
        () => waiting--,
      );
      return result;
    },
    async close() {
      closed = true;
      await last;
    },
  };
}

/** What is answered to shots that come or wait while the renderer closes. */
export function createClosedProblem(): Problem {
  return new Problem('renderer-busy', {
    detail: 'The studio is closing. Ask again once the service has started anew.',
  });
}
