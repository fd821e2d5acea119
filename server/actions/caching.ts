import { createHash } from 'node:crypto';
import { LRUCache } from 'lru-cache';
import type { Stores } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { getTurn, SharedTurn, workFor } from './turns.ts';

// Keys of results, and the two ways to do work once: calls that arrive together share it, and later calls find the result.

/** SHA-256, hex, of a value as JSON. */
export function digest(value: unknown): string {
  return digestBytes(JSON.stringify(value));
}

/** SHA-256, hex. */
export function digestBytes(bytes: string | Uint8Array): string {
  return createHash('sha256').update(bytes).digest('hex');
}

interface Shared {
  readonly callers: SharedTurn;
  readonly result: Promise<unknown>;
}

const inFlight = new Map<string, Shared>();

/**
 * Does work under a key. A call for the same key before the work ends shares its result, and the work is stopped only when all
 * its callers have left.
 */
export async function shareInFlight<T>(key: string, work: () => Promise<T>): Promise<T> {
  const caller = getTurn();
  for (let running = inFlight.get(key); running; running = inFlight.get(key)) {
    const forget = running.callers.join(caller);
    try {
      return (await running.result) as T;
    } catch (error) {
      // it was stopped before this caller came
      if (!isLeft(error) || caller.signal?.aborted) throw error;
    } finally {
      forget();
    }
  }
  const callers = new SharedTurn(caller);
  const result = workFor(callers, work).finally(() => {
    callers.close();
    inFlight.delete(key);
  });
  inFlight.set(key, { callers, result });
  return result;
}

function isLeft(error: unknown): boolean {
  return error instanceof Problem && error.code === 'caller-left';
}

/**
 * A cache of values that were read from a store. Each store has its own. It evicts the least recently used values.
 * @param maxBytes memory of the values kept for one store
 * @param measure estimates the memory of a value, bytes
 */
export function createStoreCache<Value extends {}>(
  maxBytes: number,
  measure: (value: Value) => number,
): (stores: Stores) => LRUCache<string, Value> {
  const caches = new WeakMap<Stores, LRUCache<string, Value>>();
  return (stores) => {
    const cache =
      caches.get(stores) ??
      new LRUCache<string, Value>({ maxSize: maxBytes, sizeCalculation: (value) => ENTRY_BYTES + measure(value) });
    caches.set(stores, cache);
    return cache;
  };
}

/** Memory of an entry without its value. */
const ENTRY_BYTES = 256;
