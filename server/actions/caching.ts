import { createHash } from 'node:crypto';
import { LRUCache } from 'lru-cache';
import type { Stores } from '../core/ports/stores.ts';

// Keys of results, and the two ways to do work once: calls that arrive together share it, and later calls find the result.

/** SHA-256, hex, of a value as JSON. */
export function digest(value: unknown): string {
  return digestBytes(JSON.stringify(value));
}

/** SHA-256, hex. */
export function digestBytes(bytes: string | Uint8Array): string {
  return createHash('sha256').update(bytes).digest('hex');
}

const inFlight = new Map<string, Promise<unknown>>();

/** Does work under a key. A call for the same key before the work ends shares its result. */
export function shareInFlight<T>(key: string, work: () => Promise<T>): Promise<T> {
  const running = inFlight.get(key);
  if (running) return running as Promise<T>;
  const started = work().finally(() => inFlight.delete(key));
  inFlight.set(key, started);
  return started;
}

/**
 * A cache of values that were read from a store. Each store has its own. It evicts the least recently used values.
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
