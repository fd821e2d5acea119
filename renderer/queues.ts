import pLimit from 'p-limit';
import type { Turn } from '../server/core/ports/renderer.ts';
import { Problem } from '../server/core/problems.ts';
import { PICTURE_PROBLEMS } from '../server/core/texts/problems/picture.ts';
import { PRODUCT_PROBLEMS } from '../server/core/texts/problems/product.ts';

/**
 * Shots in the order in which they come, from least to most work: a swatch, a product in one piece, a product in tiles.
 * Shots of less work run first.
 */
export type Effort = 0 | 1 | 2;

interface Place {
  readonly turn?: Turn;
  /** Default 1. */
  readonly effort?: Effort;
}

/** Lets shots go between the steps of a long one. Resolves when the long one may go on. */
export type Pause = () => Promise<void>;

/**
 * Runs one shot at a time; beyond its limits it refuses.
 *
 * Persons of the house come first, because they wait. Jobs come next, and a guest after every third step of a job, so that
 * neither of the two waits without an end. Among equals the shot of less work comes first, but no shot is passed more than
 * {@link MOST_PASSED} times. A shot whose callers have all left does not run.
 */
interface ShotQueue {
  run<Result>(work: (pause: Pause) => Promise<Result>, place?: Place): Promise<Result>;
  /** Refuses waiting and new work; resolves when the current work has ended. */
  close(): Promise<void>;
}

/** Shots that may pass one that came before them. */
const MOST_PASSED = 16;

/** Steps of jobs between two of guests. */
const JOB_STEPS = 3;

interface Entry {
  readonly place: Place;
  readonly number: number;
  /** A shot between two of its steps. It counts as running, so it has no place among those that wait. */
  started: boolean;
  passed: number;
  start(): void;
  refuse(problem: Problem): void;
}

/**
 * @param limit shots of one caller that may wait beside the current one. All persons may have twice as many, all jobs as
 *   many, and all guests a quarter
 */
export function createShotQueue(limit: number): ShotQueue {
  const waiting: Entry[] = [];
  let entries = 0;
  let busy = false;
  let closed = false;
  let jobSteps = 0;
  let ended = () => {};

  /** The entry that runs next; undefined if there is none. */
  function choose(among: readonly Entry[]): Entry | undefined {
    const of = (rank: Turn['rank']) => among.filter(({ place }) => (place.turn?.rank ?? 'person') === rank);
    const [persons, jobs, guests] = [of('person'), of('job'), of('guest')];
    if (persons.length > 0) return chooseEqual(persons);
    if (guests.length > 0 && (jobs.length === 0 || jobSteps >= JOB_STEPS)) return chooseEqual(guests);
    return jobs.length > 0 ? chooseEqual(jobs) : undefined;
  }

  /** Takes an entry out of the queue, and counts whom it passes. */
  function take(chosen: Entry): void {
    const rank = chosen.place.turn?.rank ?? 'person';
    if (rank === 'job') jobSteps++;
    if (rank === 'guest') jobSteps = 0;
    const index = waiting.indexOf(chosen);
    if (index >= 0) waiting.splice(index, 1);
    chosen.passed = 0;
    for (const entry of waiting) if (entry.number < chosen.number) entry.passed++;
  }

  function next(): void {
    const chosen = choose(waiting);
    busy = chosen !== undefined;
    if (chosen) {
      take(chosen);
      chosen.start();
    } else ended();
  }

  /** Waits until the entry may run. Its start makes the queue busy. */
  function wait(entry: Omit<Entry, 'start' | 'refuse'>): Promise<void> {
    const signal = entry.place.turn?.signal;
    return new Promise((resolve, reject) => {
      const settle = () => signal?.removeEventListener('abort', leave);
      const own: Entry = Object.assign(entry, {
        start() {
          settle();
          resolve();
        },
        refuse(problem: Problem) {
          settle();
          reject(problem);
        },
      });
      const leave = () => {
        waiting.splice(waiting.indexOf(own), 1);
        own.refuse(createLeftProblem());
      };
      signal?.addEventListener('abort', leave);
      waiting.push(own);
    });
  }

  /** @throws Problem `renderer-busy` */
  function checkLimits({ turn }: Place): void {
    const rank = turn?.rank ?? 'person';
    const equal = waiting.filter(({ started, place }) => !started && (place.turn?.rank ?? 'person') === rank);
    const own = equal.filter(({ place }) => place.turn?.name === turn?.name);
    const most = { person: 2 * limit, job: limit, guest: Math.max(1, Math.floor(limit / 4)) }[rank];
    if (own.length < limit && equal.length < most) return;
    throw new Problem('renderer-busy', {
      detail: PICTURE_PROBLEMS['renderer-busy'](equal.length),
      expected: `at most ${Math.min(limit, most)} waiting`,
    });
  }

  return {
    async run(work, place = {}) {
      if (closed) throw createClosedProblem();
      checkTurn(place.turn);
      const entry = { place, number: entries++, started: false, passed: 0 };
      if (busy) {
        checkLimits(place);
        await wait(entry);
      } else {
        busy = true;
        take(entry as Entry);
      }
      entry.started = true;
      let running = true;
      try {
        return await work(async () => {
          checkTurn(place.turn);
          // No other waits, or none before this one: then it goes on at once.
          if (closed || choose([...waiting, entry as Entry]) === entry) {
            if (place.turn?.rank === 'job') jobSteps++;
            return;
          }
          running = false;
          const again = wait(entry);
          next();
          await again;
          running = true;
        });
      } finally {
        if (running) next();
      }
    },
    async close() {
      closed = true;
      for (const { refuse } of waiting.splice(0)) refuse(createClosedProblem());
      if (busy) {
        await new Promise<void>((resolve) => {
          ended = resolve;
        });
      }
    },
  };
}

/** The one of least work, unless another has been passed too often; among equals the first. */
function chooseEqual(entries: readonly Entry[]): Entry {
  const first = (some: readonly Entry[]) => some.reduce((a, b) => (b.number < a.number ? b : a));
  const passed = entries.filter((entry) => entry.passed >= MOST_PASSED);
  if (passed.length > 0) return first(passed);
  const least = Math.min(...entries.map(({ place }) => place.effort ?? 1));
  return first(entries.filter(({ place }) => (place.effort ?? 1) === least));
}

/**
 * Refuses work whose callers have all left.
 * @throws Problem `caller-left`
 */
export function checkTurn(turn: Turn | undefined): void {
  if (turn?.signal?.aborted) throw createLeftProblem();
}

/** The answer to work that nobody waits for any more. Its callers do not read it. */
function createLeftProblem(): Problem {
  return new Problem('caller-left', { detail: PICTURE_PROBLEMS['caller-left'] });
}

/** The answer to shots that arrive or wait while the renderer closes. */
export function createClosedProblem(): Problem {
  return new Problem('renderer-closing', {
    detail: PICTURE_PROBLEMS['renderer-closing'],
  });
}

/**
 * Runs at most `running` tasks at once and lets at most `waiting` wait. It refuses the rest with `queue-full`. Each
 * task holds whole pictures in memory, sixteen megabytes each at 2048 px, so a burst would need too much. A task whose callers
 * have all left does not start.
 */
export function limitWork(running: number, waiting: number): <T>(work: () => Promise<T>, turn?: Turn) => Promise<T> {
  const limit = pLimit(running);
  return async (work, turn) => {
    if (limit.activeCount + limit.pendingCount >= running + waiting) {
      throw new Problem('queue-full', {
        detail: PRODUCT_PROBLEMS['queue-full'].pictures(waiting),
      });
    }
    return limit(async () => {
      checkTurn(turn);
      return work();
    });
  };
}
