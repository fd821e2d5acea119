import type { LevelTables } from '../core/finish/level-map.ts';
import type { ConvertedColour, MapFacts } from '../core/finish/map-image.ts';
import type { MapFile, Models } from '../core/ports/models.ts';
import { Problem } from '../core/problems.ts';
import { MODEL_PROBLEMS } from '../core/texts/problems/model.ts';
import type { ImageFileFacts } from '../images/measure-map.ts';
import { createThreadPool } from '../threads/thread-pool.ts';
import type { DerivedMaps } from './materials/derived-maps.ts';
import { holdsMaterial, readCover } from './materials/supplied/material-glb.ts';
import type { Task, TaskResults } from './worker/worker.ts';

const SOURCE_WORKER = new URL('./worker/worker.mjs', import.meta.url);

/** Longer tasks only occur with files that were made to block the service. */
const TASK_TIMEOUT_MS = 180_000;
/** Room for the validator on a model of a few hundred megabytes. */
const HEAP_MB = 4096;

interface MapReading {
  measureFile(bytes: Uint8Array): Promise<ImageFileFacts>;
  measureMap(bytes: Uint8Array): Promise<MapFacts | null>;
  convertToSrgb(bytes: Uint8Array): Promise<ConvertedColour | null>;
  levelImage(bytes: Uint8Array, tables: LevelTables): Promise<MapFile>;
}

/**
 * glTF in and out: reading and checking in worker threads, writing as a stream. `measureFile`, `measureMap`, `levelImage`
 * and `convertToSrgb` work on an uploaded image in the same threads; `close` ends them.
 */
export function createModels(workerEntry = SOURCE_WORKER): Models & MapReading & { close(): Promise<void> } {
  const surveying = openThread(workerEntry);
  // deliveries do not wait for a model that takes long to read
  const checking = openThread(workerEntry);
  let maps: DerivedMaps | undefined;
  const levelImage = (bytes: Uint8Array, tables: LevelTables) => checking.run({ kind: 'level-image', bytes, tables });
  // the libraries of the writing side are loaded on first need, so that the service listens at once
  const openMaps = async (): Promise<DerivedMaps> => {
    const { DerivedMaps } = await import('./materials/derived-maps.ts');
    maps ??= new DerivedMaps({
      combine: (bake) => checking.run({ kind: 'combine-normals', bake }),
      remake: (bytes, remake) => checking.run({ kind: 'remake-map', bytes, remake }),
      level: levelImage,
    });
    return maps;
  };
  return {
    survey: (path, mediaType) => surveying.run({ kind: 'survey', path, mediaType, packedPath: `${path}.glb` }),
    repair: (request) => surveying.run({ kind: 'repair', request }),
    readVariants: (request) => surveying.run({ kind: 'read-variants', request }),
    holdsMaterial,
    readCover,
    levelImage,
    measureFile: (bytes) => checking.run({ kind: 'measure-file', bytes }),
    measureMap: (bytes) => checking.run({ kind: 'measure-map', bytes }),
    convertToSrgb: (bytes) => checking.run({ kind: 'convert-to-srgb', bytes }),
    write: async (request) => {
      const { writeVariants } = await import('./write/write-variants.ts');
      return writeVariants(request, await openMaps());
    },
    check: ({ targetPath, sourcePath, plan }, { resultMaterials, modelBytes }) =>
      checking.run({ kind: 'check', path: targetPath, sourcePath, plan, resultMaterials, modelBytes }),
    writeFinishGlb: async (finish, readMap) => {
      if (finish.supplied !== null) {
        const { fitToSwatch } = await import('./materials/supplied/read-supplied.ts');
        return fitToSwatch((await readMap(finish.supplied)).bytes, finish.suppliedChange);
      }
      const { writeFinishMaterial } = await import('./materials/finish-material.ts');
      return writeFinishMaterial(finish, readMap, await openMaps());
    },
    close: async () => {
      await Promise.all([surveying.close(), checking.close()]);
    },
  };
}

function openThread(entry: URL) {
  return createThreadPool<Task, TaskResults>({
    entry,
    heapMb: HEAP_MB,
    timeoutMs: TASK_TIMEOUT_MS,
    refuse: (cause) =>
      new Problem('model-too-complex', {
        detail: MODEL_PROBLEMS['model-too-complex'].reading,
        cause,
      }),
  });
}
