import { type BakedNormals, combineNormals, type NormalBake } from '../combine-normals.ts';
import { digestImage } from './read-images.ts';

/** Bytes of maps that are kept ready: a dozen of the largest. Every file pictures are taken from is written afresh. */
const KEPT_BYTES = 128 * 1024 * 1024;

/**
 * Maps baked of a part's and a finish's normals, each made once as long as it is kept. Asking twice at once makes one.
 * @param combine does the work, in a worker where others are served meanwhile
 */
export class NormalBakes {
  readonly #combine: (bake: NormalBake) => Promise<BakedNormals>;
  readonly #made = new Map<string, Promise<BakedNormals>>();
  readonly #sizes = new Map<string, number>();

  constructor(combine: (bake: NormalBake) => Promise<BakedNormals> = combineNormals) {
    this.#combine = combine;
  }

  async bake(bake: NormalBake): Promise<BakedNormals> {
    const key = keyOf(bake);
    let made = this.#made.get(key);
    // the last one used stands last
    if (made) this.#made.delete(key);
    else made = this.#combine(bake);
    this.#made.set(key, made);
    try {
      const baked = await made;
      this.#sizes.set(key, 'png' in baked ? baked.png.length : 0);
      return baked;
    } catch (error) {
      this.#made.delete(key);
      throw error;
    } finally {
      this.#evict();
    }
  }

  #evict(): void {
    let bytes = [...this.#sizes.values()].reduce((sum, size) => sum + size, 0);
    for (const key of this.#made.keys()) {
      if (bytes <= KEPT_BYTES) return;
      const size = this.#sizes.get(key);
      // one that is still being made has no size yet
      if (size === undefined) continue;
      this.#made.delete(key);
      this.#sizes.delete(key);
      bytes -= size;
    }
  }
}

function keyOf({ base, detail, ...size }: NormalBake): string {
  const of = ({ image, ...how }: NormalBake['base']) => [digestImage(image), how];
  return JSON.stringify([of(base), of(detail), size]);
}
