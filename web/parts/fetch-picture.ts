import pLimit, { type LimitFunction } from 'p-limit';
import { ApiProblem, getImage } from '../api.ts';

/** A browser opens six connections to one host: two for each queue leaves two for everything else. */
const queue = pLimit(2);
/** Finished pictures do not wait behind those that have to be rendered. */
const readyQueue = pLimit(2);

/** Waits between attempts while the studio is busy or starting. */
const WAITS_S = [2, 4, 8, 15];

/** Runs a task when its turn comes. A task whose signal is aborted before that never starts. */
export function runInTurn<T>(limit: LimitFunction, task: () => Promise<T>, signal: AbortSignal): Promise<T> {
  return limit(() => {
    signal.throwIfAborted();
    return task();
  });
}

/**
 * Fetches a picture when its turn comes, and tries again while the studio is busy.
 * @param ready whether the picture is known to exist
 * @throws ApiProblem
 */
export async function fetchPicture(address: string, signal: AbortSignal, ready = false): Promise<Blob> {
  for (const waitS of [...WAITS_S, null]) {
    try {
      return await runInTurn(ready ? readyQueue : queue, () => getImage(address, signal), signal);
    } catch (error) {
      const busy = error instanceof ApiProblem && (error.retryAfterS !== null || error.code === 'renderer-busy');
      if (!busy || waitS === null) throw error;
      await new Promise((resolve) => setTimeout(resolve, Math.max(waitS, error.retryAfterS ?? 0) * 1000));
      signal.throwIfAborted();
    }
  }
  throw new Error('unreachable: the last try returns or throws');
}
