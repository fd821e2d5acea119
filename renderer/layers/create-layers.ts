import type { PictureStore } from '../../server/core/ports/files.ts';
import type { Composition, LayerSource, Layers } from '../../server/core/ports/layers.ts';
import type { LayerMaker, RawPicture } from '../../server/core/ports/renderer.ts';
import { limitWork } from '../limit-work.ts';
import type { PixelThreads } from '../pixels/pixel-threads.ts';
import type { Layer } from './layer.ts';
import { createLayerCache } from './layer-cache.ts';

export interface LayersOptions {
  /** Where layers are stored, with the pictures and under their limit. */
  readonly store: PictureStore;
  /** Memory for layers held ready; default 256 MiB, some two hundred layers of 1024 px. */
  readonly cacheLimitBytes?: number;
  /** Where they are packed, unpacked and summed. */
  readonly threads: PixelThreads;
}

/** Where it stands what took the last layer: nobody has to start a browser to find layers that are all there. */
const MAKER_KEY = 'maker-of-layers';

const MEDIA_TYPE = 'application/vnd.dyeworks.layer';

/**
 * Pictures composed at once, each with all its layers in memory: one for every thread, and one that is read meanwhile.
 * Those that wait hold none.
 */
const COMPOSING_BESIDE = 1;
const COMPOSING_WAITING = 500;

/** Pictures whose layers are taken, which wait for the studio: more of them would only hold layers in memory. */
const TAKING = 2;

/** The {@link Layers}: held in memory first, then stored, then taken. */
export function createLayers({ store, cacheLimitBytes = 256 * 1024 * 1024, threads }: LayersOptions): Layers {
  const cache = createLayerCache(cacheLimitBytes);
  const composing = limitWork(threads.count + COMPOSING_BESIDE, COMPOSING_WAITING);
  const takingFor = limitWork(TAKING, COMPOSING_WAITING);
  const loading = new Map<string, Promise<Layer | null>>();
  let maker: LayerMaker | null = null;
  const taking = new Map<string, Promise<Layer>>();

  async function find(key: string): Promise<Layer | null> {
    return cache.get(key) ?? taking.get(key) ?? share(loading, key, () => load(key));
  }

  async function load(key: string): Promise<Layer | null> {
    const stored = await store.get(key);
    const layer = stored && (await threads.run({ kind: 'unpack', bytes: stored.bytes }));
    if (layer) cache.put(key, layer);
    return layer;
  }

  function take({ key, take }: LayerSource): Promise<Layer> {
    return share(taking, key, async () => {
      // somebody else's may have come in meanwhile
      const held = cache.get(key);
      if (held) return held;
      const raw = await take();
      await rememberMaker(raw.maker);
      const { layer, bytes } = await threads.run({ kind: 'pack', raw });
      cache.put(key, layer);
      await store.put(key, bytes, MEDIA_TYPE);
      return layer;
    });
  }

  async function rememberMaker(next: LayerMaker): Promise<void> {
    const text = JSON.stringify(next);
    if (JSON.stringify(maker) === text) return;
    maker = next;
    await store.put(MAKER_KEY, new TextEncoder().encode(text), 'application/json');
  }

  async function composeFound(composition: Composition, takeAtMost: number): Promise<RawPicture | 'missing'> {
    const { widthPx, heightPx, layers, ground } = composition;
    const found = await Promise.all(layers.map(({ key }) => find(key)));
    if (found.filter((layer) => layer === null).length > takeAtMost) return 'missing';
    // one by one: the studio takes one at a time, and a picture of many slots must not fill its queue
    const all: Layer[] = [];
    for (const [index, source] of layers.entries()) all.push(found[index] ?? (await take(source)));
    const frame = { widthPx, heightPx };
    return { widthPx, heightPx, ...(await threads.run({ kind: 'compose', frame, layers: all, ground })) };
  }

  return {
    async recallMaker() {
      maker ??= readMaker((await store.get(MAKER_KEY))?.bytes);
      return maker;
    },
    async compose(composition) {
      const there = await composing(() => composeFound(composition, 0));
      // one that waits for the studio stands in no other's way
      if (there !== 'missing') return there;
      const made = await takingFor(() => composeFound(composition, composition.takeAtMost));
      return made === 'missing' ? null : made;
    },
  };
}

/** What was written by another version, or is no longer whole, is not known. */
function readMaker(bytes: Uint8Array | undefined): LayerMaker | null {
  if (!bytes) return null;
  try {
    const { browser, gl, studio } = JSON.parse(new TextDecoder().decode(bytes)) as LayerMaker;
    return { browser, gl, studio };
  } catch {
    return null;
  }
}

/** Whoever asks for the same key meanwhile gets the same result. */
function share<Result>(
  running: Map<string, Promise<Result>>,
  key: string,
  work: () => Promise<Result>,
): Promise<Result> {
  const known = running.get(key);
  if (known) return known;
  const started = work().finally(() => running.delete(key));
  running.set(key, started);
  return started;
}
