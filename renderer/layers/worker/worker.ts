import { parentPort } from 'node:worker_threads';
import { composeLayers } from '../compose-layers.ts';
import { cropLayer } from '../crop-layer.ts';
import { packLayer, unpackLayer } from '../layer-file.ts';
import type { LayerAnswer, LayerTask, LayerTaskResults } from './tasks.ts';

/** Sums, packs and unpacks layers, so that the service's own thread stays free. Layers lie in memory both threads see. */
parentPort!.on('message', async ({ id, task }: { id: number; task: LayerTask }) => {
  try {
    const result = await run(task);
    post({ id, result }, listOwned(result));
  } catch (error) {
    post({ id, fault: error instanceof Error ? (error.stack ?? error.message) : String(error) }, []);
  }
});

async function run(task: LayerTask): Promise<LayerTaskResults[keyof LayerTaskResults]> {
  switch (task.kind) {
    case 'pack': {
      const layer = cropLayer(task.raw);
      return { layer, bytes: Uint8Array.from(await packLayer(layer)) };
    }
    case 'unpack':
      return unpackLayer(task.bytes);
    case 'compose':
      return composeLayers(task.frame, task.layers, task.ground);
  }
}

/** Memory that goes over to the other thread without being copied. */
function listOwned(result: LayerTaskResults[keyof LayerTaskResults]): ArrayBuffer[] {
  if (result && 'rgba' in result) return [result.rgba.buffer];
  if (result && 'bytes' in result) return [result.bytes.buffer as ArrayBuffer];
  return [];
}

function post(answer: LayerAnswer, owned: ArrayBuffer[]): void {
  parentPort!.postMessage(answer, owned);
}
