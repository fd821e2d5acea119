import { LAY_IN_METRES } from '../core/delivery/lay-tile.ts';
import type { MapFacts } from '../core/finish/map-facts.ts';
import type { Models } from '../core/ports/models.ts';
import type { NormalBakes } from './splice/normal-bakes.ts';
import { holdsMaterial } from './take-in/holds-material.ts';
import { readCover } from './take-in/read-cover.ts';
import { WorkerThread } from './worker/worker-thread.ts';

const SOURCE_WORKER = new URL('./worker/worker.mjs', import.meta.url);

/**
 * glTF in and out: reading and checking in worker threads, writing as a stream. `measureMap` looks at an uploaded image in
 * the same threads; `close` ends them.
 */
export function createModels(
  workerEntry = SOURCE_WORKER,
): Models & { measureMap(bytes: Uint8Array): Promise<MapFacts>; close(): Promise<void> } {
  const surveying = new WorkerThread(workerEntry);
  // deliveries do not wait behind a model that takes long to read
  const checking = new WorkerThread(workerEntry);
  let bakes: NormalBakes | undefined;
  return {
    survey: (path, mediaType) => surveying.run({ kind: 'survey', path, mediaType, packedPath: `${path}.glb` }),
    repair: (request) => surveying.run({ kind: 'repair', request }),
    takeIn: (request) => surveying.run({ kind: 'take-in', request }),
    holdsMaterial,
    readCover,
    measureMap: (bytes) => checking.run({ kind: 'measure-map', bytes }),
    // the libraries of the writing side are loaded on first need, so that the service listens at once
    write: async (request) => {
      const [{ writeVariants }, { NormalBakes }] = await Promise.all([
        import('./splice/write-variants.ts'),
        import('./splice/normal-bakes.ts'),
      ]);
      bakes ??= new NormalBakes((bake) => checking.run({ kind: 'combine-normals', bake }));
      return writeVariants(request, bakes);
    },
    check: (path, plan, { resultMaterials, modelBytes }) =>
      checking.run({ kind: 'check', path, plan, resultMaterials, modelBytes }),
    makeKit: async (finish, readMap) => {
      if (finish.supplied !== null) {
        const { fitToSwatch } = await import('./splice/read-supplied.ts');
        return fitToSwatch((await readMap(finish.supplied)).bytes, finish.suppliedChange);
      }
      const { writeKitBinary } = await import('./splice/finish-kit.ts');
      const item = {
        name: finish.finish,
        finish,
        lay: LAY_IN_METRES,
        grainDegrees: 0,
        without: new Set<never>(),
        detailMean: null,
        // the studio's shapes have a tangent frame by their UVs, and stand in metres
        tangents: false,
        uvFrame: true as const,
        metresPerMeshUnit: 1,
      };
      return writeKitBinary(item, readMap);
    },
    close: async () => {
      await Promise.all([surveying.close(), checking.close()]);
    },
  };
}
