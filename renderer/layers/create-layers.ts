import { LRUCache } from 'lru-cache';
import type { Composition, LayerMaker, Layers, RawPicture, Turn } from '../../server/core/ports/renderer.ts';
import type { PictureShare, PictureStore } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import type { PixelThreads } from '../pixels/pixel-threads.ts';
import { limitWork } from '../queues.ts';
import type { Composed } from './compose-layers.ts';
import { type Frame, type Layer, measureLayer, sliceLayer } from './layer.ts';

interface LayersOptions {
  /** Storage of layers, together with the pictures and under their limit. */
  readonly store: PictureStore;
  /** Memory for cached layers; default 256 MiB, some two hundred layers of 1024 px. */
  readonly cacheLimitBytes?: number;
  /** Share of that memory for layers that are made for guests; they do not drive out the others. Default a quarter. */
  readonly guestShare?: number;
  /** Threads that pack, unpack and sum layers. */
  readonly threads: PixelThreads;
}

/** Key of the maker of the last layer. It is stored so that a search for layers needs no browser. */
const MAKER_KEY = 'maker-of-layers';

const MEDIA_TYPE = 'application/vnd.dyeworks.layer';

/** Memory of a layer apart from its pixels, so that thousands of empty layers count too. */
const OVERHEAD_BYTES = 1024;

/**
 * Pictures composed at once, each with all its layers in memory: one per thread, and one whose layers are being read.
 * Waiting pictures hold no layers in memory.
 */
const COMPOSING_BESIDE = 1;
const COMPOSING_WAITING = 500;

/**
 * Layers per shot. Each sum needs sixteen bytes per pixel of a tile, and each layer arrives with eight bytes per pixel
 * of the picture.
 */
const SHOT_LAYERS = 12;
const SHOT_PIXELS = 48 * 1024 * 1024;

/** Pictures of each rank that wait for the studio to take their layers. More would only hold layers in memory. */
const TAKING = 2;

/** Larger pictures are taken in tiles. */
const LARGE_PIXELS = 1024 * 1024;

/** The {@link Layers}: from memory, else from the store, else from a shot. */
export function createLayers({
  store,
  cacheLimitBytes = 256 * 1024 * 1024,
  guestShare = 0.25,
  threads,
}: LayersOptions): Layers {
  const makeCache = (maxSize: number, readers: PictureShare) =>
    new LRUCache<string, Layer>({
      maxSize: Math.max(1, Math.floor(maxSize)),
      sizeCalculation: (layer) => measureLayer(layer) + OVERHEAD_BYTES,
      fetchMethod: async (key) => {
        const stored = await store.get(key, readers);
        return (stored && (await threads.run({ kind: 'unpack', bytes: stored.bytes }))) ?? undefined;
      },
      // A layer from a shot replaces the stored one that is being read.
      ignoreFetchAbort: true,
    });
  const caches = {
    others: makeCache(cacheLimitBytes * (1 - guestShare), 'others'),
    guests: makeCache(cacheLimitBytes * guestShare, 'guests'),
  };
  /** Where layers of a caller are kept: those of guests do not drive out the others. */
  const cacheOf = (turn: Turn | undefined) => (turn?.rank === 'guest' ? caches.guests : caches.others);
  /** A layer in memory, also one that was made for others. */
  const recall = (key: string, turn: Turn | undefined) =>
    cacheOf(turn).get(key) ?? (turn?.rank === 'guest' ? caches.others : caches.guests).peek(key);
  const composing = limitWork(threads.count + COMPOSING_BESIDE, COMPOSING_WAITING);
  // Ranks wait apart, and so do large pictures. None of them holds up another before the studio's own queue.
  const taking = new Map<string, ReturnType<typeof limitWork>>();
  const takingFor = ({ turn, widthPx, heightPx }: Composition) => {
    const name = `${turn?.rank ?? 'person'} ${widthPx * heightPx > LARGE_PIXELS}`;
    const limit = taking.get(name) ?? limitWork(TAKING, COMPOSING_WAITING);
    taking.set(name, limit);
    return limit;
  };
  let maker: LayerMaker | null = null;
  const coming = new Map<string, Coming>();

  /** A layer of another caller's shot; undefined if that one comes after the caller, who then takes it sooner. */
  function findComing(key: string, turn: Turn | undefined): Promise<Layer> | undefined {
    const found = coming.get(key);
    return found && getRank(found.turn) <= getRank(turn) ? found.layer : undefined;
  }

  /** @param waits whether to wait for a layer of another caller's shot */
  async function find(key: string, waits: boolean, turn: Turn | undefined): Promise<Layer | null> {
    const known = recall(key, turn);
    if (known) return known;
    const awaited = findComing(key, turn);
    if (awaited) return waits ? awaited : null;
    return (await cacheOf(turn).fetch(key)) ?? null;
  }

  /** Takes the missing layers, and waits for those of another caller's shot. */
  async function takeAll(composition: Composition, places: readonly number[]): Promise<readonly Layer[]> {
    const { layers, widthPx, heightPx, turn } = composition;
    const own: Promised[] = [];
    const all = places.map((place) => {
      const key = layers[place]!;
      // Another caller's layers may have arrived meanwhile.
      const there = recall(key, turn) ?? findComing(key, turn);
      if (there) return there;
      const promised = promise(place, key);
      own.push(promised);
      coming.set(key, { layer: promised.layer, turn });
      return promised.layer;
    });
    const atOnce = Math.min(SHOT_LAYERS, Math.max(1, Math.floor(SHOT_PIXELS / (widthPx * heightPx))));
    try {
      for (let first = 0; first < own.length; first += atOnce) {
        await takeSome(composition, own.slice(first, first + atOnce));
      }
    } catch (error) {
      for (const { reject } of own) reject(error);
    } finally {
      for (const { key, layer } of own) if (coming.get(key)?.layer === layer) coming.delete(key);
    }
    return Promise.all(all);
  }

  async function takeSome(composition: Composition, promised: readonly Promised[]): Promise<void> {
    const raws = await composition.take(promised.map(({ place }) => place));
    await rememberMaker(raws[0]!.maker);
    await Promise.all(
      promised.map(async ({ key, resolve }, index) => {
        const { layer, bytes } = await threads.run({ kind: 'pack', raw: raws[index]! });
        cacheOf(composition.turn).set(key, layer);
        await store.put(key, bytes, MEDIA_TYPE, composition.turn?.rank === 'guest' ? 'guests' : 'others');
        resolve(layer);
      }),
    );
  }

  async function rememberMaker(next: LayerMaker): Promise<void> {
    const text = JSON.stringify(next);
    if (JSON.stringify(maker) === text) return;
    maker = next;
    await store.put(MAKER_KEY, new TextEncoder().encode(text), 'application/json');
  }

  /** @param takeAtMost layers to take at most; with 0 it does not wait for another caller's shot either */
  async function composeFound(composition: Composition, takeAtMost: number): Promise<RawPicture | 'missing'> {
    const { widthPx, heightPx, layers, ground, turn } = composition;
    const found = await Promise.all(layers.map((key) => find(key, takeAtMost > 0, turn)));
    const missing = [...found.keys()].filter((place) => found[place] === null);
    if (missing.length > takeAtMost) return 'missing';
    const taken = missing.length === 0 ? [] : await takeAll(composition, missing);
    const all = found.map((layer, place) => layer ?? taken[missing.indexOf(place)]!);
    return { widthPx, heightPx, ...(await composeStrips(threads, { widthPx, heightPx }, all, ground)) };
  }

  return {
    async recallMaker() {
      maker ??= readMaker((await store.get(MAKER_KEY))?.bytes);
      return maker;
    },
    async compose(composition) {
      const { turn, takeAtMost } = composition;
      const there = await composing(() => composeFound(composition, 0), turn);
      if (there !== 'missing') return there;
      if (takeAtMost === 0) return null;
      for (;;) {
        try {
          // A picture that waits for the studio does not block others.
          const made = await takingFor(composition)(() => composeFound(composition, takeAtMost), turn);
          return made === 'missing' ? null : made;
        } catch (error) {
          // Another caller left, whose shot would have given a layer of this picture too.
          if (!(error instanceof Problem && error.code === 'caller-left') || turn?.signal?.aborted) throw error;
        }
      }
    },
  };
}

/** Pixels of a strip that one task sums. Copying its layers blocks this thread for milliseconds. */
const STRIP_PIXELS = 1024 * 1024;

/** Sums layers strip by strip in other threads, which get copies; the cached layers stay here. */
async function composeStrips(
  threads: PixelThreads,
  { widthPx, heightPx }: Frame,
  layers: readonly Layer[],
  ground: Composition['ground'],
): Promise<Composed> {
  const rows = Math.max(1, Math.floor(STRIP_PIXELS / widthPx));
  if (rows >= heightPx) return composeStrip(0, heightPx);
  const rgba = new Uint8Array(widthPx * heightPx * 4);
  let opaque = true;
  for (let top = 0; top < heightPx; top += rows) {
    const strip = await composeStrip(top, Math.min(heightPx, top + rows));
    rgba.set(strip.rgba, top * widthPx * 4);
    opaque &&= strip.opaque;
  }
  return { rgba, opaque };

  async function composeStrip(top: number, bottom: number): Promise<Composed> {
    const slices: Layer[] = [];
    for (const layer of layers) {
      slices.push(sliceLayer(layer, top, bottom));
      await nextTurn();
    }
    const frame = { widthPx, heightPx: bottom - top };
    return threads.run({ kind: 'compose', frame, layers: slices, ground, firstRow: top });
  }
}

const nextTurn = () => new Promise((resolve) => setImmediate(resolve));

interface Coming {
  readonly layer: Promise<Layer>;
  readonly turn: Turn | undefined;
}

/** In the order of the studio's queue. */
const getRank = (turn: Turn | undefined): number => ['person', 'job', 'guest'].indexOf(turn?.rank ?? 'person');

/** A layer that callers can wait for before it exists. */
interface Promised {
  readonly place: number;
  readonly key: string;
  readonly layer: Promise<Layer>;
  readonly resolve: (layer: Layer) => void;
  readonly reject: (error: unknown) => void;
}

function promise(place: number, key: string): Promised {
  let resolve: Promised['resolve'] = () => {};
  let reject: Promised['reject'] = () => {};
  const layer = new Promise<Layer>((fulfil, refuse) => {
    resolve = fulfil;
    reject = refuse;
  });
  // Callers that wait for it get the failure; there may be none.
  layer.catch(() => undefined);
  return { place, key, layer, resolve, reject };
}

/** Null if another version wrote it, or it is damaged. */
function readMaker(bytes: Uint8Array | undefined): LayerMaker | null {
  if (!bytes) return null;
  try {
    const { browser, gl, studio } = JSON.parse(new TextDecoder().decode(bytes)) as LayerMaker;
    return { browser, gl, studio };
  } catch {
    return null;
  }
}
