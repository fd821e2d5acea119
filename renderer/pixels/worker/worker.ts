import { serveTasks } from '../../../server/threads/serve-tasks.ts';
import { composeLayers } from '../../layers/compose-layers.ts';
import { cropLayer, packLayer, unpackLayer } from '../../layers/layer.ts';
import { writePng } from '../write-png.ts';
import { listOwned, type PixelTask, type PixelTaskResults } from './tasks.ts';

export default serveTasks(run, listOwned);

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
