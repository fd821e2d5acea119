import { availableParallelism } from 'node:os';
import { createPixelThread, type PixelThread } from './pixel-thread.ts';

/** Threads that layers are packed, unpacked and summed in and pictures encoded, so that the service's own stays free. */
export interface PixelThreads {
  readonly run: PixelThread['run'];
  /** Tasks that can be done at the same time. */
  readonly count: number;
  close(): Promise<void>;
}

const SOURCE_WORKER = new URL('./worker/worker.mjs', import.meta.url);

/** Each takes some ten megabytes beside its pictures; beyond eight the studio is what one waits for. */
const COUNT = { min: 2, max: 8 } as const;

/** One thread for every core, started as they are needed. */
export function createPixelThreads(
  entry = SOURCE_WORKER,
  count = Math.min(COUNT.max, Math.max(COUNT.min, availableParallelism())),
): PixelThreads {
  const threads = Array.from({ length: count }, () => createPixelThread(entry));
  // one that is there goes before one that would have to be started
  const weigh = ({ busy, started }: PixelThread) => busy + (started ? 0 : 0.5);
  return {
    run: (task) => threads.reduce((best, next) => (weigh(next) < weigh(best) ? next : best)).run(task),
    count,
    close: async () => void (await Promise.all(threads.map((thread) => thread.close()))),
  };
}
