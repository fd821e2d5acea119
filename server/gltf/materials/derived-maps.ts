import { webcrypto } from 'node:crypto';
import { LRUCache } from 'lru-cache';
import type { LevelTables } from '../../core/finish/level-map.ts';
import type { MapFile } from '../../core/ports/models.ts';
import { type BakedNormals, combineNormals, type NormalBake } from '../../images/combine-normals.ts';
import { levelImage, type Remake, remakeMap } from '../../images/remake-map.ts';

/** Bytes of maps that are kept ready: a dozen of the largest. Every file pictures are taken from is written afresh. */
const KEPT_BYTES = 128 * 1024 * 1024;

/** An image that a map is made of. */
export interface SourceImage {
  readonly bytes: Uint8Array;
  /** Where it is known; worked out otherwise. */
  readonly sha256?: string;
}

/** Does the work; the service hands it to a worker, where others are served meanwhile. */
export interface MapWork {
  combine(bake: NormalBake): Promise<BakedNormals>;
  remake(bytes: Uint8Array, remake: Remake): Promise<Uint8Array | null>;
  level(bytes: Uint8Array, tables: LevelTables): Promise<MapFile>;
}

interface Made {
  readonly map: BakedNormals | Uint8Array | MapFile | null;
}

/** Maps that are made for deliveries and pictures, each once as long as it is kept. */
export class MadeMaps {
  readonly #work: MapWork;
  /** Long work is done once for all who ask for it meanwhile; what fails is not kept. */
  readonly #kept = new LRUCache<string, Made, () => Promise<Made['map']>>({
    maxSize: KEPT_BYTES,
    sizeCalculation: ({ map }) => Math.max(1, sizeOf(map)),
    fetchMethod: async (_key, _stale, { context }) => ({ map: await context() }),
    ignoreFetchAbort: true,
  });

  constructor(work: MapWork = { combine: combineNormals, remake: remakeMap, level: levelImage }) {
    this.#work = work;
  }

  /** A map of a part's and a finish's normals. */
  async combine(bake: NormalBake): Promise<BakedNormals> {
    const { base, detail, ...size } = bake;
    const key = JSON.stringify(['combine', await describeLayer(base), await describeLayer(detail), size]);
    return this.#take(key, () => this.#work.combine(bake));
  }

  /** As `remakeMap`. */
  async remake({ bytes, sha256 }: SourceImage, remake: Remake): Promise<Uint8Array | null> {
    const key = JSON.stringify(['remake', sha256 ?? (await digest(bytes)), remake]);
    return this.#take(key, () => this.#work.remake(bytes, remake));
  }

  /** A colour map with its codes exchanged. */
  async level({ bytes, sha256 }: SourceImage, tables: LevelTables): Promise<MapFile> {
    const key = JSON.stringify(['level', sha256 ?? (await digest(bytes)), tables.map((table) => [...table])]);
    return this.#take(key, () => this.#work.level(bytes, tables));
  }

  async #take<Result extends Made['map']>(key: string, make: () => Promise<Result>): Promise<Result> {
    return (await this.#kept.forceFetch(key, { context: make })).map as Result;
  }
}

async function describeLayer({ image, ...how }: NormalBake['base']) {
  return [await digest(image), how];
}

/** Off the event loop: a large image takes longer than a tick may. */
async function digest(bytes: Uint8Array): Promise<string> {
  return Buffer.from(await webcrypto.subtle.digest('SHA-256', bytes as Uint8Array<ArrayBuffer>)).toString('hex');
}

function sizeOf(made: Made['map']): number {
  if (made === null) return 0;
  if (made instanceof Uint8Array) return made.length;
  if ('bytes' in made) return made.bytes.length;
  return 'png' in made ? made.png.length : 0;
}
