import type { FastifyRateLimitOptions, FastifyRateLimitStore } from '@fastify/rate-limit';
import { LRUCache } from 'lru-cache';
import { steadyNow } from '../actions/steady-now.ts';

/** Callers that are counted at the same time; the least recently seen are forgotten first. */
const COUNTED = 10_000;

type Told = (error: Error | null, result: { readonly current: number; readonly ttl: number }) => void;

/**
 * Counts calls by caller. The store of the plugin reads the clock of the day: after that was set back, a minute would not end
 * before the clock is where it was, and everyone would run out of calls.
 */
export class CallCounts implements FastifyRateLimitStore {
  private readonly counts = new LRUCache<string, { count: number; readonly since: number }>({ max: COUNTED });

  incr(caller: string, told: Told, windowMs: number): void {
    const now = steadyNow();
    let counted = this.counts.get(caller);
    if (!counted || counted.since + windowMs <= now) counted = { count: 0, since: now };
    counted.count++;
    this.counts.set(caller, counted);
    told(null, { current: counted.count, ttl: counted.since + windowMs - now });
  }

  child(_: FastifyRateLimitOptions): FastifyRateLimitStore {
    return new CallCounts();
  }
}
