import { Worker } from 'node:worker_threads';
import type { LayerAnswer, LayerTask, LayerTaskResults } from './worker/tasks.ts';

/** The thread that layers are summed, packed and unpacked in; started on first need, and anew after it died. */
export interface LayerThread {
  run<Kind extends LayerTask['kind']>(task: Extract<LayerTask, { kind: Kind }>): Promise<LayerTaskResults[Kind]>;
  close(): Promise<void>;
}

interface Waiting {
  readonly resolve: (result: never) => void;
  readonly reject: (error: Error) => void;
}

export function createLayerThread(entry: URL): LayerThread {
  let worker: Worker | null = null;
  let count = 0;
  let closed = false;
  const waiting = new Map<number, Waiting>();

  function start(): Worker {
    const started = new Worker(entry);
    const lose = (error: Error) => {
      if (worker !== started) return;
      worker = null;
      for (const { reject } of waiting.values()) reject(error);
      waiting.clear();
    };
    started.on('message', settle);
    started.on('error', lose);
    started.on('exit', (code) => lose(new Error(`the thread of layers ended with ${code}`)));
    return started;
  }

  function settle({ id, result, fault }: LayerAnswer): void {
    const asked = waiting.get(id);
    waiting.delete(id);
    // a thread with nothing to do does not keep the process alive
    if (waiting.size === 0) worker?.unref();
    if (fault === undefined) asked?.resolve(result as never);
    else asked?.reject(new Error(`in the thread of layers: ${fault}`));
  }

  return {
    run: (task) =>
      new Promise((resolve, reject) => {
        if (closed) return reject(new Error('the thread of layers is closed'));
        worker ??= start();
        worker.ref();
        const id = ++count;
        waiting.set(id, { resolve, reject });
        worker.postMessage({ id, task }, listGivenAway(task));
      }),
    async close() {
      closed = true;
      await worker?.terminate();
    },
  };
}

/** What was taken is wanted by nobody else: it goes over without being copied. */
function listGivenAway(task: LayerTask): ArrayBuffer[] {
  if (task.kind !== 'pack') return [];
  const { buffer, byteLength } = task.raw.bytes;
  return buffer instanceof ArrayBuffer && buffer.byteLength === byteLength ? [buffer] : [];
}
