import { ApiProblem, getImage } from '../api.ts';
import { createTaskQueue } from './picture-queue.ts';

/** Of the six connections a browser opens to one host two are left for everything else. */
const queue = createTaskQueue(2);
/** Pictures that are there already do not wait behind those that have to be taken. */
const readyQueue = createTaskQueue(2);

/** Tries while the studio is full or starting; the last wait is the longest. */
const WAITS_S = [2, 4, 8, 15];

/**
 * Fetches a picture when its turn comes, and comes back later while the studio is full.
 * @param ready whether the picture is known to be there
 * @throws ApiProblem
 */
export async function fetchPicture(address: string, signal: AbortSignal, ready = false): Promise<Blob> {
  for (const waitS of [...WAITS_S, null]) {
    try {
      return await (ready ? readyQueue : queue).add(() => getImage(address, signal), signal);
    } catch (error) {
      const busy = error instanceof ApiProblem && (error.retryAfterS !== null || error.code === 'renderer-busy');
      if (!busy || waitS === null) throw error;
      await new Promise((resolve) => setTimeout(resolve, Math.max(waitS, error.retryAfterS ?? 0) * 1000));
      signal.throwIfAborted();
    }
  }
  throw new Error('unreachable: the last try returns or throws');
}
