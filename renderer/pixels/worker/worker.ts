import { parentPort } from 'node:worker_threads';
import { composeLayers } from '../../layers/compose-layers.ts';
import { cropLayer } from '../../layers/crop-layer.ts';
import { packLayer, unpackLayer } from '../../layers/layer-file.ts';
import { writePng } from '../write-png.ts';
import { listOwned, type PixelAnswer, type PixelTask, type PixelTaskResults } from './tasks.ts';

parentPort!.on('message', async ({ id, task }: { id: number; task: PixelTask }) => {
  try {
    const result = await run(task);
    post({ id, result }, listOwned(result));
  } catch (error) {
    post({ id, fault: error instanceof Error ? (error.stack ?? error.message) : String(error) }, []);
  }
});

async function run(task: PixelTask): Promise<PixelTaskResults[keyof PixelTaskResults]> {
  switch (task.kind) {
    case 'pack': {
      const layer = cropLayer(task.raw);
      return { layer, bytes: Uint8Array.from(await packLayer(layer)) };
    }
    case 'unpack':
      return unpackLayer(task.bytes);
    case 'compose':
      return composeLayers(task.frame, task.layers, task.ground, task.firstRow);
    case 'png':
      return Uint8Array.from(writePng(task.raw));
  }
}

function post(answer: PixelAnswer, owned: ArrayBuffer[]): void {
  parentPort!.postMessage(answer, owned);
}
