import { stat } from 'node:fs/promises';
import type { MessagePort } from 'node:worker_threads';
import type { LevelTables } from '../core/finish/level-map.ts';
import type { ConvertedColour, MapFacts } from '../core/finish/map-image.ts';
import type { MapFile, Models, ModelWork, ReadMap } from '../core/ports/models.ts';
import { Problem } from '../core/problems.ts';
import { MODEL_PROBLEMS } from '../core/texts/problems/model.ts';
import type { ImageFileFacts } from '../images/measure-map.ts';
import { offerCallbacks } from '../threads/callbacks.ts';
import type { QueuedWork } from '../threads/fair-queue.ts';
import { createThreadPool } from '../threads/thread-pool.ts';
import type { ModelLimits } from './choose-model-limits.ts';
import { createExtracts } from './extract/create-extracts.ts';
import type { DerivedMaps, MapMaker } from './materials/derived-maps.ts';
import { holdsMaterial, readCover } from './materials/supplied/material-glb.ts';
import type { MAP_CALLBACKS } from './worker/map-callbacks.ts';
import type { Task, TaskResults } from './worker/worker.ts';

const SOURCE_WORKER = new URL('./worker/worker.mjs', import.meta.url);

/** Files of more bytes leave a thread free for smaller ones. They take seconds, and smaller ones less than one. */
const HEAVY_BYTES = 16 * 1024 * 1024;
/** Steps that wait. Each keeps an uploaded file on disk and a connection open. */
const MOST_WAITING = 64;

/** Writing copies and syncs the whole model, and waits for all maps: it may take so many times as long as reading. */
const WRITING_FACTOR = 10;

/** Threads that plan files of single variants. */
const EXTRACTING = 2;

/** Forms that are compressed at once: each holds a whole model in memory. */
const COMPRESSING_THREADS = 2;

/** Limits of the command line and of tests: those of a machine of its own. */
const DEFAULT_LIMITS: ModelLimits = { threads: 3, heapMb: 4096, timeoutMs: 120_000 };

interface MapReading {
  measureFile(bytes: Uint8Array, work?: ModelWork): Promise<ImageFileFacts>;
  measureMap(bytes: Uint8Array): Promise<MapFacts | null>;
  convertToSrgb(bytes: Uint8Array, work?: ModelWork): Promise<ConvertedColour | null>;
  levelImage(bytes: Uint8Array, tables: LevelTables): Promise<MapFile>;
}

/**
 * glTF in and out, in worker threads. `measureFile`, `measureMap`, `levelImage`
 * and `convertToSrgb` work on an uploaded image in the same threads; `close` ends them.
 */
export function createModels(
  workerEntry = SOURCE_WORKER,
  limits = DEFAULT_LIMITS,
): Models & MapReading & { close(): Promise<void> } {
  const surveying = openThreads(workerEntry, limits, MOST_WAITING);
  // deliveries do not wait for models that take long to read
  const writing = openThreads(workerEntry, { ...limits, timeoutMs: limits.timeoutMs * WRITING_FACTOR });
  // compressed textures take minutes, for which no delivery waits
  const compressing = openThreads(workerEntry, {
    ...limits,
    threads: Math.min(COMPRESSING_THREADS, limits.threads),
    timeoutMs: limits.timeoutMs * WRITING_FACTOR,
  });
  // files that are being written wait for their maps
  const mapping = openThreads(workerEntry, limits);
  // downloads wait for nothing else; few threads, since each keeps the JSON of a delivery
  const extracting = openThreads(workerEntry, { ...limits, threads: Math.min(limits.threads, EXTRACTING) });
  const extracts = createExtracts(async (request, work) =>
    extracting.run({ kind: 'extract', request }, [], await weigh(request.path, work)),
  );
  let maps: DerivedMaps | undefined;
  const levelImage = (bytes: Uint8Array, tables: LevelTables) => mapping.run({ kind: 'level-image', bytes, tables });
  // loaded on first need, so that the service listens at once
  const openMaps = async (): Promise<DerivedMaps> => {
    const { DerivedMaps } = await import('./materials/derived-maps.ts');
    maps ??= new DerivedMaps({
      combine: (bake) => mapping.run({ kind: 'combine-normals', bake }),
      remake: (bytes, remake) => mapping.run({ kind: 'remake-map', bytes, remake }),
      level: levelImage,
    });
    return maps;
  };
  async function withMaps<T>(readMap: ReadMap, write: (port: MessagePort) => Promise<T>): Promise<T> {
    const made = await openMaps();
    const { port, close } = offerCallbacks({
      readMap,
      combine: (...given: Parameters<MapMaker['combine']>) => made.combine(...given),
      remake: (...given: Parameters<MapMaker['remake']>) => made.remake(...given),
      level: (...given: Parameters<MapMaker['level']>) => made.level(...given),
    } satisfies Record<(typeof MAP_CALLBACKS)[number], unknown>);
    try {
      return await write(port);
    } finally {
      close();
    }
  }
  return {
    survey: async (path, mediaType, work) =>
      surveying.run({ kind: 'survey', path, mediaType, packedPath: `${path}.glb` }, [], await weigh(path, work)),
    mapPieces: async (path, sha256, work) =>
      surveying.run({ kind: 'map-pieces', path, sha256 }, [], await weigh(path, work)),
    repair: async (request, work) =>
      surveying.run({ kind: 'repair', request }, [], await weigh(request.sourcePath, work)),
    readVariants: async (request, work) =>
      surveying.run({ kind: 'read-variants', request }, [], await weigh(request.sourcePath, work)),
    compress: async (request, work) =>
      compressing.run({ kind: 'compress', request }, [], await weigh(request.sourcePath, work)),
    weigh: async (path, work) => surveying.run({ kind: 'weigh', path }, [], await weigh(path, work)),
    holdsMaterial,
    readCover,
    levelImage,
    measureFile: (bytes, work) => mapping.run({ kind: 'measure-file', bytes }, [], { signal: work?.signal }),
    measureMap: (bytes) => mapping.run({ kind: 'measure-map', bytes }),
    convertToSrgb: (bytes, work) => mapping.run({ kind: 'convert-to-srgb', bytes }, [], { signal: work?.signal }),
    write: ({ readMap, ...request }, work) =>
      withMaps(readMap, async (port) =>
        writing.run({ kind: 'write', request, port }, [port], await weigh(request.sourcePath, work)),
      ),
    check: async ({ targetPath, sourcePath, plan }, { resultMaterials, modelBytes }, work) =>
      writing.run(
        { kind: 'check', path: targetPath, sourcePath, plan, resultMaterials, modelBytes },
        [],
        await weigh(targetPath, work),
      ),
    writeSamples: ({ readMap, ...request }, work = {}) =>
      withMaps(readMap, (port) =>
        writing.run({ kind: 'write-samples', request, port }, [port], { owner: work.product, signal: work.signal }),
      ),
    extract: (request, work) => extracts.get(request, work),
    checksum: async (path, work) => extracting.run({ kind: 'checksum', path }, [], await weigh(path, work)),
    writeUsd: async (request, work) => writing.run({ kind: 'write-usd', request }, [], await weigh(request.path, work)),
    writeFinishGlb: (finish, readMap, work = {}) =>
      withMaps(readMap, (port) =>
        writing.run({ kind: 'write-finish', finish, port }, [port], { owner: work.product, signal: work.signal }),
      ),
    close: async () => {
      await Promise.all([surveying.close(), writing.close(), compressing.close(), mapping.close(), extracting.close()]);
    },
  };
}

async function weigh(path: string, { product, signal }: ModelWork = {}): Promise<QueuedWork> {
  // a file that is not there is the step's own error
  const size = await stat(path).then(
    ({ size }) => size,
    () => 0,
  );
  return { owner: product, isHeavy: size > HEAVY_BYTES, signal };
}

function openThreads(entry: URL, { threads, heapMb, timeoutMs }: ModelLimits, mostWaiting?: number) {
  return createThreadPool<Task, TaskResults>({
    entry,
    count: threads,
    heapMb,
    timeoutMs,
    ...(mostWaiting !== undefined && { mostWaiting }),
    refuse: (cause, limit) =>
      limit === 'time'
        ? new Problem('model-took-too-long', {
            detail: MODEL_PROBLEMS['model-took-too-long'](timeoutMs / 1000),
            expected: timeoutMs / 1000,
            cause,
          })
        : new Problem('model-too-complex', { detail: MODEL_PROBLEMS['model-too-complex'].reading, cause }),
  });
}
