import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { LRUCache } from 'lru-cache';
import { addressKey } from '../actions/access.ts';
import { steadyNow } from '../actions/steady-now.ts';
import { type CallTurn, workFor } from '../actions/turns.ts';
import { Problem } from '../core/problems.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';
import { PICTURE_ROUTE } from './route-access.ts';

/** Calls of one kind that run at once. Further ones of a caller wait, and are refused beyond a number. */
export interface CallLimit {
  /** Of one caller. */
  readonly atOnce: number;
  readonly inAll: number;
  /** Calls of one caller that may wait, with nothing of their body read. */
  readonly waiting: number;
  readonly waitingInAll: number;
}

/**
 * A browser asks for six pictures at once, through a proxy for a hundred; scripts of the house ask for as many as they like.
 * Guests get few at once, so that each address gets its share. Uploads are read into the store and surveyed by a few threads,
 * and each needs memory.
 */
export const CALL_LIMITS = {
  picture: { atOnce: 96, inAll: 256, waiting: 0, waitingInAll: 0 },
  guestPicture: { atOnce: 4, inAll: 12, waiting: 96, waitingInAll: 384 },
  download: { atOnce: 3, inAll: 8, waiting: 8, waitingInAll: 32 },
  upload: { atOnce: 4, inAll: 12, waiting: 32, waitingInAll: 128 },
  import: { atOnce: 1, inAll: 2, waiting: 4, waitingInAll: 16 },
} as const satisfies Record<string, CallLimit>;

type Kind = keyof typeof CALL_LIMITS;

/** Routes, not URLs: the same URL can be spelled in many ways. */
const KINDS: readonly (readonly [method: string, route: RegExp, kind: Kind])[] = [
  ['GET', PICTURE_ROUTE, 'picture'],
  ['GET', /^\/api\/finishes\/:finish\/swatch\.json$/, 'picture'],
  ['GET', /\/picture-sets\/:set\/files\/:file$/, 'picture'],
  ['GET', /\.(zip|pdf|usdz)$/, 'download'],
  ['PUT', /^\/api\/products\/:product\/model$/, 'upload'],
  ['POST', /^\/api\/(files|products\/:product\/repairs)$/, 'upload'],
  ['POST', /^\/api\/(finishes\/import|archives|products\/:product\/model\/take-variants)$/, 'import'],
];

/**
 * New pictures of guests, in units of 512 × 512 px. Each address may ask for a page full of them, and then for one every two
 * seconds; a stored picture costs nothing. All together may keep half the studio busy.
 */
const BUDGET = { burst: 240, perSecond: 0.5, burstInAll: 1200, perSecondInAll: 4 } as const;
const UNIT_PIXELS = 512 * 512;

/** Addresses whose budget is remembered. One that is forgotten has a full one. */
const ADDRESSES = 10_000;

/**
 * Limits how many costly calls run at once, of each caller and in all, and tells the actions who calls. A call that waits ends
 * when its caller leaves.
 */
export function limitCallsAtOnce(
  app: FastifyInstance,
  { limits = CALL_LIMITS, now = steadyNow }: { limits?: Record<Kind, CallLimit>; now?: () => number } = {},
): void {
  const gates = new Map(Object.entries(limits).map(([kind, limit]) => [kind, createGate(limit)]));
  const budget = createGuestBudget(now);

  app.addHook('onRequest', (request, reply, done) => {
    const gone = new AbortController();
    const address = addressKey(request.ip);
    const { person } = request.caller ?? {};
    const turn: CallTurn = request.guest
      ? { rank: 'guest', name: address, signal: gone.signal, spend: (pixels) => budget.spend(address, pixels) }
      : { rank: 'person', name: person ? `person ${person.account}` : address, signal: gone.signal };
    const kind = findKind(request);
    abortWhenGone(reply, gone);
    if (kind === null) return workFor(turn, done);
    gates
      .get(kind)!
      .enter(turn)
      .then(
        (leave) => {
          reply.raw.once('close', leave);
          // it left before it could be told
          if (reply.raw.closed) leave();
          workFor(turn, done);
        },
        (error: Problem) => done(error),
      );
  });
}

function abortWhenGone({ raw }: FastifyReply, gone: AbortController): void {
  raw.once('close', () => {
    if (!raw.writableFinished) gone.abort();
  });
}

/** What a call costs; null if little. */
export function findKind({
  method,
  guest,
  routeOptions,
}: Pick<FastifyRequest, 'method' | 'guest' | 'routeOptions'>): Kind | null {
  const asked = method === 'HEAD' ? 'GET' : method;
  const route = routeOptions.url ?? '';
  const kind = KINDS.find(([each, pattern]) => each === asked && pattern.test(route))?.[2] ?? null;
  return kind === 'picture' && guest ? 'guestPicture' : kind;
}

interface Gate {
  /**
   * Waits until the caller may go on.
   * @returns ends the call; may be called again
   * @throws Problem `too-many-at-once` for this caller, `service-busy` for all, `caller-left`
   */
  enter(caller: Pick<CallTurn, 'name' | 'signal'>): Promise<() => void>;
}

interface Waiting {
  readonly name: string;
  go(): void;
}

/** Callers go in the order in which they came, except those who have as many calls as they may. */
export function createGate({ atOnce, inAll, waiting: most, waitingInAll }: CallLimit): Gate {
  const running = new Map<string, number>();
  const waiting: Waiting[] = [];
  let total = 0;

  const mayGo = (name: string) => total < inAll && (running.get(name) ?? 0) < atOnce;

  function begin(name: string): () => void {
    running.set(name, (running.get(name) ?? 0) + 1);
    total++;
    let ended = false;
    return () => {
      if (ended) return;
      ended = true;
      total--;
      const left = running.get(name)! - 1;
      if (left > 0) running.set(name, left);
      else running.delete(name);
      const index = waiting.findIndex((next) => mayGo(next.name));
      if (index >= 0) waiting.splice(index, 1)[0]!.go();
    };
  }

  function checkWaiting(name: string): void {
    if (waiting.filter((each) => each.name === name).length >= most && (running.get(name) ?? 0) >= atOnce) {
      throw new Problem('too-many-at-once', {
        detail: REQUEST_PROBLEMS['too-many-at-once'](atOnce),
        expected: `at most ${atOnce} at once`,
      });
    }
    if (waiting.length >= waitingInAll || waiting.filter((each) => each.name === name).length >= most) {
      throw new Problem('service-busy', { detail: REQUEST_PROBLEMS['service-busy'] });
    }
  }

  return {
    async enter({ name, signal }) {
      if (mayGo(name)) return begin(name);
      checkWaiting(name);
      return new Promise((resolve, reject) => {
        const own: Waiting = {
          name,
          go() {
            signal?.removeEventListener('abort', leave);
            resolve(begin(name));
          },
        };
        const leave = () => {
          waiting.splice(waiting.indexOf(own), 1);
          reject(new Problem('caller-left', { detail: REQUEST_PROBLEMS['caller-left'] }));
        };
        signal?.addEventListener('abort', leave, { once: true });
        waiting.push(own);
      });
    },
  };
}

interface Bucket {
  left: number;
  at: number;
}

/** @param now in milliseconds */
export function createGuestBudget(now: () => number): { spend(address: string, pixels: number): void } {
  const { burst, perSecond, burstInAll, perSecondInAll } = BUDGET;
  const buckets = new LRUCache<string, Bucket>({ max: ADDRESSES });
  const all: Bucket = { left: burstInAll, at: now() };

  function fill(bucket: Bucket, most: number, rate: number): Bucket {
    const time = now();
    bucket.left = Math.min(most, bucket.left + (Math.max(0, time - bucket.at) / 1000) * rate);
    bucket.at = time;
    return bucket;
  }

  return {
    spend(address, pixels) {
      const units = Math.max(1, Math.ceil(pixels / UNIT_PIXELS));
      const own = fill(buckets.get(address) ?? { left: burst, at: now() }, burst, perSecond);
      buckets.set(address, own);
      fill(all, burstInAll, perSecondInAll);
      if (own.left < units) {
        const retryAfterS = Math.ceil((units - own.left) / perSecond);
        throw new Problem('guest-budget', { detail: REQUEST_PROBLEMS['guest-budget'].own, retryAfterS });
      }
      if (all.left < units) throw new Problem('service-busy', { detail: REQUEST_PROBLEMS['guest-budget'].all });
      own.left -= units;
      all.left -= units;
    },
  };
}
