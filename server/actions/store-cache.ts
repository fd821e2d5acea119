import { LRUCache } from 'lru-cache';
import type { Stores } from '../core/ports/stores.ts';

/**
 * A cache of values that were read from a store, apart for each store: the values used least recently go first.
 * @param max values kept for one store
 */
export function createStoreCache<Value extends {}>(max: number): (stores: Stores) => LRUCache<string, Value> {
  const caches = new WeakMap<Stores, LRUCache<string, Value>>();
  return (stores) => {
    const cache = caches.get(stores) ?? new LRUCache<string, Value>({ max });
    caches.set(stores, cache);
    return cache;
  };
}
