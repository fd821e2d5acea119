import { webcrypto } from 'node:crypto';
import { LRUCache } from 'lru-cache';
import type { LevelTables } from '../../core/finish/level-map.ts';
import type { MapFile } from '../../core/ports/models.ts';
import { type BakedNormals, combineNormals, type NormalBake } from '../../images/combine-normals.ts';
import { levelImage, type Remake, remakeMap } from '../../images/remake-map.ts';

/** Bytes of maps in the cache: a dozen of the largest. Studio files are written again for every change, with the same maps. */
const KEPT_BYTES = 128 * 1024 * 1024;

/** An image from which a map is derived. */
interface SourceImage {
  readonly bytes: Uint8Array;
  /** Computed if left out. */
  readonly sha256?: string;
}

/** The work itself. The service does it in a worker thread, so that it can answer other calls. */
interface MapWork {
  combine(bake: NormalBake): Promise<BakedNormals>;
  remake(bytes: Uint8Array, remake: Remake): Promise<Uint8Array | null>;
  level(bytes: Uint8Array, tables: LevelTables): Promise<MapFile>;
}

interface Made {
  readonly map: BakedNormals | Uint8Array | MapFile | null;
}

/** Derives maps for deliveries and pictures. */
export type MapMaker = Pick<DerivedMaps, 'combine' | 'remake' | 'level'>;

/** A cache of maps that are derived for deliveries and pictures. */
export class DerivedMaps {
  readonly #work: MapWork;
  /** Calls for a map that is in progress share it. Failures are not cached. */
  readonly #kept = new LRUCache<string, Made, () => Promise<Made['map']>>({
    maxSize: KEPT_BYTES,
    sizeCalculation: ({ map }) => Math.max(1, sizeOf(map)),
    fetchMethod: async (_key, _stale, { context }) => ({ map: await context() }),
    ignoreFetchAbort: true,
  });

  constructor(work: MapWork = { combine: combineNormals, remake: remakeMap, level: levelImage }) {
    this.#work = work;
  }

  /** Combines the normals of a part and a finish. */
  async combine(bake: NormalBake): Promise<BakedNormals> {
    const { base, detail, ...size } = bake;
    const key = JSON.stringify(['combine', await describeLayer(base), await describeLayer(detail), size]);
    return this.#fetch(key, () => this.#work.combine(bake));
  }

  /** As `remakeMap`. */
  async remake({ bytes, sha256 }: SourceImage, remake: Remake): Promise<Uint8Array | null> {
    const key = JSON.stringify(['remake', sha256 ?? (await digest(bytes)), remake]);
    return this.#fetch(key, () => this.#work.remake(bytes, remake));
  }

  /** Replaces the codes of a colour map. */
  async level({ bytes, sha256 }: SourceImage, tables: LevelTables): Promise<MapFile> {
    const key = JSON.stringify(['level', sha256 ?? (await digest(bytes)), tables.map((table) => [...table])]);
    return this.#fetch(key, () => this.#work.level(bytes, tables));
  }

  async #fetch<Result extends Made['map']>(key: string, make: () => Promise<Result>): Promise<Result> {
    return (await this.#kept.forceFetch(key, { context: make })).map as Result;
  }
}

async function describeLayer({ image, ...how }: NormalBake['base']) {
  return [await digest(image), how];
}

/** Asynchronous, since a large image would block the event loop. */
async function digest(bytes: Uint8Array): Promise<string> {
  return Buffer.from(await webcrypto.subtle.digest('SHA-256', bytes as Uint8Array<ArrayBuffer>)).toString('hex');
}

function sizeOf(made: Made['map']): number {
  if (made === null) return 0;
  if (made instanceof Uint8Array) return made.length;
  if ('bytes' in made) return made.bytes.length;
  return 'png' in made ? made.png.length : 0;
}
