import { availableParallelism } from 'node:os';
import { createThreadPool, type ThreadPool } from '../../server/threads/thread-pool.ts';
import { listOwned, type PixelTask, type PixelTaskResults } from './worker/tasks.ts';

/**
 * Threads that pack, unpack and sum layers and encode pictures, which keeps the main thread free. Pixels and layers of
 * a task move to the thread, so the caller loses them.
 */
export interface PixelThreads extends Omit<ThreadPool<PixelTask, PixelTaskResults>, 'run'> {
  run<Kind extends PixelTask['kind']>(task: Extract<PixelTask, { kind: Kind }>): Promise<PixelTaskResults[Kind]>;
}

const SOURCE_WORKER = new URL('./worker/worker.mjs', import.meta.url);

/** Each needs some ten megabytes beside its pictures. With more than eight, the studio becomes the bottleneck. */
const COUNT = { min: 2, max: 8 } as const;

/** One thread for every core. */
export function createPixelThreads(
  entry = SOURCE_WORKER,
  count = Math.min(COUNT.max, Math.max(COUNT.min, availableParallelism())),
): PixelThreads {
  const pool = createThreadPool<PixelTask, PixelTaskResults>({ entry, count });
  return { ...pool, run: (task) => pool.run(task, listOwned(task)) };
}
