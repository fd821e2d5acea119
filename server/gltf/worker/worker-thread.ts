import { Worker } from 'node:worker_threads';
import { Problem } from '../../core/problems.ts';
import type { Answer, Task, TaskResults } from './tasks.ts';

/** A task that takes longer has met a file made to hang it. */
const TASK_TIMEOUT_MS = 180_000;
/** Room for the validator on a model of a few hundred megabytes; a worker past it dies, the service does not. */
const HEAP_MB = 4096;

interface Pending {
  readonly task: Task;
  readonly resolve: (result: never) => void;
  readonly reject: (error: unknown) => void;
}

/**
 * One worker thread, started on first need and kept. Tasks queue; one that brings the thread down, or does not end, is
 * refused as too complex, and the next gets a new thread.
 */
export class WorkerThread {
  readonly #entry: URL;
  #worker: Worker | null = null;
  readonly #queue: Pending[] = [];
  #current: { pending: Pending; id: number; timer: NodeJS.Timeout } | null = null;
  #nextId = 1;

  constructor(entry: URL) {
    this.#entry = entry;
  }

  run<K extends keyof TaskResults>(task: Extract<Task, { kind: K }>): Promise<TaskResults[K]> {
    return new Promise((resolve, reject) => {
      this.#queue.push({ task, resolve, reject });
      this.#next();
    });
  }

  async close(): Promise<void> {
    await this.#worker?.terminate();
  }

  #next(): void {
    if (this.#current) return;
    const pending = this.#queue.shift();
    if (!pending) {
      this.#worker?.unref();
      return;
    }
    const worker = (this.#worker ??= this.#start());
    worker.ref();
    const id = this.#nextId++;
    const timer = setTimeout(() => void this.#fail('did not end in time'), TASK_TIMEOUT_MS);
    this.#current = { pending, id, timer };
    worker.postMessage({ id, task: pending.task });
  }

  #start(): Worker {
    const worker = new Worker(this.#entry, {
      resourceLimits: { maxOldGenerationSizeMb: HEAP_MB },
    });
    worker.on('message', (answer: Answer) => this.#settle(answer));
    worker.on('error', (error) => void this.#fail(error.message));
    worker.on('exit', () => {
      if (this.#worker === worker) this.#worker = null;
    });
    return worker;
  }

  #settle({ id, result, error }: Answer): void {
    if (this.#current?.id !== id) return;
    const { pending, timer } = this.#current;
    clearTimeout(timer);
    this.#current = null;
    if (error?.problem) pending.reject(new Problem(error.problem.code, error.problem.more));
    else if (error) pending.reject(new Error(`in the worker: ${error.fault}`));
    else pending.resolve(result as never);
    this.#next();
  }

  async #fail(reason: string): Promise<void> {
    const current = this.#current;
    const worker = this.#worker;
    this.#worker = null;
    this.#current = null;
    if (current) {
      clearTimeout(current.timer);
      current.pending.reject(
        new Problem('model-too-complex', {
          detail: 'Reading the model took more memory or time than there is. Export it with fewer, joined parts.',
          cause: new Error(reason),
        }),
      );
    }
    await worker?.terminate();
    this.#next();
  }
}
