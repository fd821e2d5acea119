import { Worker } from 'node:worker_threads';
import { Problem } from '../../core/problems.ts';
import type { Answer, Answers, Ask } from './asks.ts';

/** Twenty thousand spectra are planned in two seconds; an ask that takes longer than this has met a file made to hang it. */
const ASK_TIMEOUT_MS = 120_000;
/** The largest file that is taken becomes some 300 MB of objects; a thread past this dies, the service does not. */
const HEAP_MB = 1024;

export type Asker = <K extends keyof Answers>(
  ask: Extract<Ask, { kind: K }>,
  transfer?: readonly ArrayBuffer[],
) => Promise<Answers[K]>;

interface Current {
  readonly id: number;
  readonly timer: NodeJS.Timeout;
  readonly resolve: (result: never) => void;
  readonly reject: (error: unknown) => void;
}

/**
 * One worker thread, started on first need and kept. Whoever uses it has it to himself until he is done; others wait. An
 * ask that brings the thread down, or does not end, is refused, and the next gets a new thread.
 */
export class ImportThread {
  readonly #entry: URL;
  #worker: Worker | null = null;
  #last: Promise<unknown> = Promise.resolve();
  #current: Current | null = null;
  #nextId = 1;

  constructor(entry: URL) {
    this.#entry = entry;
  }

  use<T>(work: (ask: Asker) => Promise<T>): Promise<T> {
    const done = this.#last.then(() => work((ask, transfer) => this.#ask(ask, transfer)));
    this.#last = done.catch(() => {});
    return done;
  }

  async close(): Promise<void> {
    await this.#worker?.terminate();
  }

  #ask<K extends keyof Answers>(
    ask: Extract<Ask, { kind: K }>,
    transfer: readonly ArrayBuffer[] = [],
  ): Promise<Answers[K]> {
    return new Promise((resolve, reject) => {
      const worker = (this.#worker ??= this.#start());
      worker.ref();
      const id = this.#nextId++;
      const timer = setTimeout(() => this.#fail(worker, new Error('did not end in time')), ASK_TIMEOUT_MS);
      this.#current = { id, timer, resolve, reject };
      worker.postMessage({ id, ask }, transfer);
    });
  }

  #start(): Worker {
    const worker = new Worker(this.#entry, { resourceLimits: { maxOldGenerationSizeMb: HEAP_MB } });
    worker.on('message', (answer: Answer) => this.#settle(worker, answer));
    worker.on('error', (error) => this.#fail(worker, error));
    worker.on('exit', () => this.#fail(worker, new Error('ended')));
    return worker;
  }

  #settle(worker: Worker, { id, result, error }: Answer): void {
    if (this.#worker !== worker || this.#current?.id !== id) return;
    const { resolve, reject, timer } = this.#current;
    clearTimeout(timer);
    this.#current = null;
    // between asks nothing keeps the process from ending
    worker.unref();
    if (error?.problem) reject(new Problem(error.problem.code, error.problem.more));
    else if (error) reject(new Error(`in the worker: ${error.fault}`));
    else resolve(result as never);
  }

  #fail(worker: Worker, cause: Error): void {
    if (this.#worker !== worker) return;
    this.#worker = null;
    const current = this.#current;
    this.#current = null;
    if (current) {
      clearTimeout(current.timer);
      current.reject(
        new Problem('import-unreadable', {
          detail: 'Reading the file took more memory or time than there is. Split it, and import the parts one by one.',
          cause,
        }),
      );
    }
    void worker.terminate();
  }
}
