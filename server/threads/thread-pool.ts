import { fileURLToPath } from 'node:url';
import type { MessagePort } from 'node:worker_threads';
import { Piscina } from 'piscina';
import { Problem } from '../core/problems.ts';
import { MODEL_PROBLEMS } from '../core/texts/problems/model.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import { FairQueue, type QueuedWork } from './fair-queue.ts';
import { readAnswer, type TaskAnswer } from './serve-tasks.ts';

/** Results of tasks, by kind. */
type ResultsOf<Task extends { readonly kind: string }> = { readonly [Kind in Task['kind']]: unknown };

interface ThreadPoolOptions {
  /** A module with the result of `serveTasks` as its default export. */
  readonly entry: URL;
  /** Most threads. Each starts when it is first needed, and stays. */
  readonly count?: number;
  /** Memory of a thread's objects, MB. A thread that needs more ends; the service does not. */
  readonly heapMb?: number;
  /** A task that runs longer than this, in ms, is stopped together with its thread. */
  readonly timeoutMs?: number;
  /** The error for a task that ran out of time or memory. Without it the cause itself is thrown. */
  readonly refuse?: (cause: Error, limit: 'time' | 'memory') => Problem;
  /** Most tasks that wait; further ones are refused at once if a caller waits for them (`signal`). */
  readonly mostWaiting?: number;
}

type Transferred = ArrayBuffer | MessagePort;

/** Worker threads for one kind of work, so that the service's own thread stays free. */
export interface ThreadPool<Task extends { readonly kind: string }, Results extends ResultsOf<Task>> {
  /**
   * Does a task in the next free thread, see `FairQueue`. When the caller leaves, the task ends together with its thread.
   * @param transfer memory and ports that move to the thread; the caller loses them
   * @throws Problem the task's own, the one of `refuse`, `queue-full`, `work-cancelled`
   */
  run<Kind extends Task['kind']>(
    task: Extract<Task, { kind: Kind }>,
    transfer?: readonly Transferred[],
    work?: QueuedWork,
  ): Promise<Results[Kind]>;
  /** Tasks that can run at the same time. */
  readonly count: number;
  close(): Promise<void>;
}

export function createThreadPool<Task extends { readonly kind: string }, Results extends ResultsOf<Task>>({
  entry,
  count = 1,
  heapMb,
  timeoutMs,
  refuse,
  mostWaiting,
}: ThreadPoolOptions): ThreadPool<Task, Results> {
  let pool: Piscina | null = null;
  let closed = false;
  // tasks wait here, not in the pool: the time limit counts from when a task starts
  const queue = new FairQueue(count, mostWaiting);

  function open(): Piscina {
    const opened = new Piscina({
      filename: fileURLToPath(entry),
      minThreads: 0,
      maxThreads: count,
      idleTimeout: Number.POSITIVE_INFINITY,
      // a thread that blocks while idle would delay unfinished work of its libraries
      atomics: 'disabled',
      recordTiming: false,
      ...(heapMb === undefined ? {} : { resourceLimits: { maxOldGenerationSizeMb: heapMb } }),
    });
    // if an idle thread ends, the next task gets a new one
    opened.on('error', () => {});
    return opened;
  }

  async function start<Kind extends Task['kind']>(
    task: Extract<Task, { kind: Kind }>,
    transfer: readonly Transferred[],
    caller: AbortSignal | undefined,
  ): Promise<Results[Kind]> {
    if (closed) throw new Error('the threads are closed');
    pool ??= open();
    const timer = timeoutMs === undefined ? undefined : AbortSignal.timeout(timeoutMs);
    const signals = [timer, caller].filter((signal) => signal !== undefined);
    const signal = signals.length > 0 ? AbortSignal.any(signals) : undefined;
    const answer = (await pool.run(task, { transferList: [...transfer], signal }).catch((cause: Error) => {
      if (caller?.aborted) throw cancelled();
      if (closed || !refuse || cause.name === 'DataCloneError') throw cause;
      throw refuse(cause, timer?.aborted ? 'time' : 'memory');
    })) as TaskAnswer<Results[Kind]>;
    return readAnswer(answer);
  }

  return {
    async run(task, transfer = [], work = {}) {
      if (work.signal && queue.isFull)
        throw new Problem('queue-full', { detail: PRODUCT_PROBLEMS['queue-full'].files(mostWaiting!) });
      const { signal } = work;
      return queue
        .run(work, () => start(task, transfer, signal))
        .catch((error: unknown) => {
          throw signal?.aborted && error === signal.reason ? cancelled() : error;
        });
    },
    count,
    async close() {
      closed = true;
      await pool?.destroy();
    },
  };
}

function cancelled(): Problem {
  return new Problem('work-cancelled', { detail: MODEL_PROBLEMS['work-cancelled'] });
}
