import { Worker } from 'node:worker_threads';
import { listOwned, type PixelAnswer, type PixelTask, type PixelTaskResults } from './worker/tasks.ts';

/** A thread for work on pixels; started on first need, and anew after it died. */
export interface PixelThread {
  run<Kind extends PixelTask['kind']>(task: Extract<PixelTask, { kind: Kind }>): Promise<PixelTaskResults[Kind]>;
  /** Tasks it has not answered yet. */
  readonly busy: number;
  readonly started: boolean;
  close(): Promise<void>;
}

interface Waiting {
  readonly resolve: (result: never) => void;
  readonly reject: (error: Error) => void;
}

export function createPixelThread(entry: URL): PixelThread {
  let worker: Worker | null = null;
  let count = 0;
  let closed = false;
  const waiting = new Map<number, Waiting>();

  function start(): Worker {
    const started = new Worker(entry);
    started.unref();
    const lose = (error: Error) => {
      if (worker !== started) return;
      worker = null;
      for (const { reject } of waiting.values()) reject(error);
      waiting.clear();
    };
    started.on('message', settle);
    started.on('error', lose);
    started.on('exit', (code) => lose(new Error(`a thread for pixels ended with ${code}`)));
    return started;
  }

  function settle({ id, result, fault }: PixelAnswer): void {
    const asked = waiting.get(id);
    waiting.delete(id);
    // a thread with nothing to do does not keep the process alive
    if (waiting.size === 0) worker?.unref();
    if (fault === undefined) asked?.resolve(result as never);
    else asked?.reject(new Error(`in a thread for pixels: ${fault}`));
  }

  return {
    run: (task) =>
      new Promise((resolve, reject) => {
        if (closed) return reject(new Error('the threads for pixels are closed'));
        worker ??= start();
        const id = ++count;
        // what cannot be sent rejects, and leaves no task behind
        worker.postMessage({ id, task }, listOwned(task));
        worker.ref();
        waiting.set(id, { resolve, reject });
      }),
    get busy() {
      return waiting.size;
    },
    get started() {
      return worker !== null;
    },
    async close() {
      closed = true;
      await worker?.terminate();
    },
  };
}
