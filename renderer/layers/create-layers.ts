import type { PictureStore } from '../../server/core/ports/files.ts';
import type { LayerSource, Layers } from '../../server/core/ports/layers.ts';
import type { Layer } from './layer.ts';
import { createLayerCache } from './layer-cache.ts';
import { createLayerThread } from './layer-thread.ts';

export interface LayersOptions {
  /** Where layers are stored, with the pictures and under their limit. */
  readonly store: PictureStore;
  /** Memory for layers held ready; default 256 MiB, some two hundred layers of 1024 px. */
  readonly cacheLimitBytes?: number;
  /** Entry of the thread. */
  readonly workerEntry?: URL;
}

const SOURCE_WORKER = new URL('./worker/worker.mjs', import.meta.url);
const MEDIA_TYPE = 'application/vnd.dyeworks.layer';

/** The {@link Layers}: held in memory first, then stored, then taken. */
export function createLayers({
  store,
  cacheLimitBytes = 256 * 1024 * 1024,
  workerEntry = SOURCE_WORKER,
}: LayersOptions): Layers {
  const cache = createLayerCache(cacheLimitBytes);
  const thread = createLayerThread(workerEntry);
  const loading = new Map<string, Promise<Layer | null>>();
  const taking = new Map<string, Promise<Layer>>();

  async function find(key: string): Promise<Layer | null> {
    return cache.get(key) ?? taking.get(key) ?? share(loading, key, () => load(key));
  }

  async function load(key: string): Promise<Layer | null> {
    const stored = await store.get(key);
    const layer = stored && (await thread.run({ kind: 'unpack', bytes: stored.bytes }));
    if (layer) cache.put(key, layer);
    return layer;
  }

  function take({ key, take }: LayerSource): Promise<Layer> {
    return share(taking, key, async () => {
      // somebody else's may have come in meanwhile
      const held = cache.get(key);
      if (held) return held;
      const { layer, bytes } = await thread.run({ kind: 'pack', raw: await take() });
      cache.put(key, layer);
      await store.put(key, bytes, MEDIA_TYPE);
      return layer;
    });
  }

  return {
    async compose({ widthPx, heightPx, layers, ground, takeAtMost }) {
      const found = await Promise.all(layers.map(({ key }) => find(key)));
      if (found.filter((layer) => layer === null).length > takeAtMost) return null;
      const all = await Promise.all(layers.map((source, index) => found[index] ?? take(source)));
      const { rgba } = await thread.run({ kind: 'compose', frame: { widthPx, heightPx }, layers: all, ground });
      return { widthPx, heightPx, rgba };
    },
    close: () => thread.close(),
  };
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
