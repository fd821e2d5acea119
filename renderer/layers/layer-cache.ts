import { type Layer, measureLayer } from './layer.ts';

/** Layers held ready, up to a number of bytes; those out of use longest go first. */
export interface LayerCache {
  get(key: string): Layer | undefined;
  put(key: string, layer: Layer): void;
  readonly bytes: number;
}

/** What a layer takes beside its pixels, so that thousands of empty ones do not count as nothing. */
const OVERHEAD_BYTES = 1024;

export function createLayerCache(limitBytes: number): LayerCache {
  // a map keeps the order in which things were put: what was used last stands last
  const held = new Map<string, Layer>();
  let bytes = 0;
  const weigh = (layer: Layer) => measureLayer(layer) + OVERHEAD_BYTES;
  const take = (key: string) => {
    const layer = held.get(key);
    if (!layer) return undefined;
    held.delete(key);
    bytes -= weigh(layer);
    return layer;
  };
  const put = (key: string, layer: Layer) => {
    take(key);
    // one that would push out all others and still not fit
    if (weigh(layer) > limitBytes) return;
    held.set(key, layer);
    bytes += weigh(layer);
    for (const oldest of held.keys()) {
      if (bytes <= limitBytes) return;
      take(oldest);
    }
  };
  return {
    get(key) {
      const layer = take(key);
      if (layer) put(key, layer);
      return layer;
    },
    put,
    get bytes() {
      return bytes;
    },
  };
}
