import { EventEmitter } from 'node:events';
import { foldCode } from '../core/codes.ts';
import {
  addPart,
  countLeading,
  countParts,
  findOpenPart,
  type Job,
  type JobStore,
  type ListedJob,
} from '../core/job/job.ts';
import { Problem } from '../core/problems.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Jobs } from './context.ts';
import { trackPace } from './estimate-remaining-time.ts';
import { isBusyNow, waitWhileBusy } from './retry-while-busy.ts';

/** Jobs that may wait; each is a whole schedule's pictures. */
const QUEUE_LIMIT = 100;
/** Lines kept of what did not come out; the rest is counted. */
const FAILURES_KEPT = 100;
/**
 * How far parts may run ahead of the first one that is not over. What arrives is told in order, so that one picture that
 * takes long holds back those after it.
 */
const AHEAD = 200;

/**
 * How long parts that were there already may go unsaved: found again they cost nothing, and a synced write for each takes
 * longer than finding it.
 */
const FOUND_KEPT_MS = 250;

const MADE = Symbol('made');
const FOUND = Symbol('found');
/** A part that was begun and is neither made nor failed: it is done at the next start, or never. */
const LEFT = Symbol('left');

/**
 * Does one part of a job; parts are counted, so that a job taken up again goes on where it stopped. Answering `found` says
 * that there was nothing to do.
 */
export type DoPart = (job: Job, part: number) => Promise<unknown>;

type GivenJob = Pick<Job, 'id' | 'kind' | 'product' | 'line' | 'total' | 'request'>;

/**
 * Runs jobs one after the other, several parts of one at once, begun in order: composing and encoding then use all cores
 * while the studio takes one shot after another. Progress is saved after every part. A part that fails is noted and the
 * job goes on; a job left over from before a restart goes on where it stood.
 */
export class JobRunner implements Jobs {
  readonly #events = new EventEmitter().setMaxListeners(0);
  readonly #queue: Job[] = [];
  readonly #cancelled = new Set<string>();
  /** Jobs whose product was deleted while they were open. */
  readonly #disowned = new Set<string>();
  readonly #store: JobStore;
  readonly #log: (error: unknown) => void;
  readonly #now: () => number;
  readonly #atOnce: number;
  #doPart: DoPart | null = null;
  #running: Promise<void> | null = null;
  #stopped = false;
  #current: Job | null = null;
  #runningId: string | null = null;

  /**
   * @param log told what went wrong with the keeping of jobs themselves
   * @param now in milliseconds
   * @param atOnce parts of a job under way at once
   */
  constructor(
    store: JobStore,
    log: (error: unknown) => void = () => undefined,
    now: () => number = Date.now,
    atOnce = 2,
  ) {
    this.#store = store;
    this.#now = now;
    this.#log = log;
    this.#atOnce = atOnce;
  }

  /** Starts working, open jobs of an earlier run first. */
  async start(doPart: DoPart): Promise<void> {
    this.#doPart = doPart;
    const open = await this.#store.listOpen();
    // one that was added meanwhile is among them
    const known = new Set([...this.#queue.map(({ id }) => id), this.#runningId]);
    this.#queue.unshift(...open.filter(({ id }) => !known.has(id)));
    this.#work();
  }

  /** @throws Problem `queue-full` */
  async add(job: GivenJob): Promise<Job> {
    if (this.#queue.length >= QUEUE_LIMIT) {
      throw new Problem('queue-full', {
        detail: PRODUCT_PROBLEMS['queue-full'].jobs(QUEUE_LIMIT),
      });
    }
    const queued: Job = { ...job, state: 'queued', done: 0, failed: 0, failures: [], finished: [], failedParts: [] };
    await this.#store.add(queued);
    this.#queue.push(queued);
    this.#work();
    return queued;
  }

  async get(id: string): Promise<Job> {
    const job = this.#current?.id === id ? this.#current : await this.#store.get(id);
    if (job) return job;
    throw new Problem('unknown-job', {
      detail: PRODUCT_PROBLEMS['unknown-job'](id.slice(0, 80)),
      received: id.slice(0, 80),
    });
  }

  /** The last jobs, the latest first; those of a product or a line where one is given. */
  async listLast(limit: number, of?: { readonly product?: string; readonly line?: string }): Promise<ListedJob[]> {
    const listed = await this.#store.listLast(limit, of);
    return listed.map((job) => {
      if (job.id !== this.#current?.id) return job;
      const { state, done, failed, remainingMs } = this.#current;
      return { ...job, state, done, failed, ...(remainingMs !== undefined && { remainingMs }) };
    });
  }

  /** A job that waits is cancelled at once, one that runs when the parts under way are over. */
  async cancel(id: string): Promise<Job> {
    const job = await this.get(id);
    if (job.state !== 'queued' && job.state !== 'running') return job;
    const waiting = this.#queue.findIndex((queued) => queued.id === id);
    if (waiting >= 0) {
      this.#queue.splice(waiting, 1);
      return this.#keep({ ...job, state: 'cancelled' });
    }
    // a job whose progress could not be saved is open, and nothing runs it
    if (id !== this.#runningId) return this.#keep({ ...job, state: 'cancelled' });
    this.#cancelled.add(id);
    return job;
  }

  /**
   * The product was deleted: what its open jobs have left fails, and is not made for another product of the same code that
   * comes after it.
   */
  disown(product: string): void {
    const open = this.#current ? [...this.#queue, this.#current] : this.#queue;
    for (const job of open) {
      if (job.product !== null && foldCode(job.product) === foldCode(product)) this.#disowned.add(job.id);
    }
  }

  /** The job now, and whenever it has changed since it was told last, until it has ended. */
  async *watch(id: string, signal: AbortSignal): AsyncGenerator<Job> {
    let latest: Job | null = null;
    let wake = () => {};
    const listener = (job: Job) => {
      // progress only grows: a slow reader misses nothing but the figures in between
      latest = job;
      wake();
    };
    this.#events.on(id, listener);
    const onAbort = () => wake();
    signal.addEventListener('abort', onAbort);
    try {
      const first = await this.get(id);
      latest ??= first;
      while (!signal.aborted) {
        const job: Job | null = latest;
        latest = null;
        if (!job) {
          await new Promise<void>((resolve) => {
            wake = resolve;
          });
          continue;
        }
        yield job;
        if (job.state !== 'queued' && job.state !== 'running') return;
      }
    } finally {
      this.#events.off(id, listener);
      signal.removeEventListener('abort', onAbort);
    }
  }

  /** Waits for the parts under way, finished or abandoned; what is left goes on at the next start. */
  async stop(): Promise<void> {
    this.#stopped = true;
    await this.#running;
  }

  #work(): void {
    if (this.#running || this.#stopped || !this.#doPart) return;
    const job = this.#queue.shift();
    if (!job) return;
    this.#runningId = job.id;
    this.#current = job;
    this.#running = this.#run(job, this.#doPart)
      .catch((error: unknown) => {
        this.#log(error);
        // it stays open and goes on at the next start; those who watch it need not wait for that
        this.#events.emit(job.id, tellLost(this.#current ?? job));
      })
      .finally(() => {
        this.#cancelled.delete(job.id);
        this.#disowned.delete(job.id);
        this.#running = null;
        this.#runningId = null;
        this.#current = null;
        this.#work();
      });
  }

  async #run(given: Job, doPart: DoPart): Promise<void> {
    const { remainingMs: _, ...fresh } = given;
    let job: Job = await this.#keep({ ...fresh, state: 'running' });
    const pace = trackPace(this.#now);
    const underWay = new Set<Promise<void>>();
    let next = 0;
    let ticks = 0;
    let made = false;
    let keptAt = this.#now();
    const begin = (part: number) => {
      const ended = this.#try(job, part, doPart).then((outcome) => {
        underWay.delete(ended);
        if (outcome === LEFT) return;
        if (outcome === FOUND) pace.pass();
        else {
          made = true;
          pace.tick();
          ticks++;
        }
        job = addOutcome(job, part, typeof outcome === 'string' ? outcome : null);
        // before each of those begun together is over, the first says what all of them took
        if (ticks >= this.#atOnce) job = { ...job, remainingMs: pace.estimate(job.total - job.done) };
      });
      underWay.add(ended);
    };
    try {
      for (;;) {
        while (this.#goesOn(job) && underWay.size < this.#atOnce) {
          const part = findOpenPart(job.finished, next);
          if (part >= Math.min(job.total, countLeading(job.finished) + AHEAD)) break;
          next = part + 1;
          begin(part);
        }
        if (underWay.size === 0) break;
        await Promise.race(underWay);
        // those that ended while this was written are in the next one
        if (made || this.#now() - keptAt >= FOUND_KEPT_MS) {
          made = false;
          keptAt = this.#now();
          await this.#keep(job);
        } else this.#tell(job);
      }
    } finally {
      await Promise.all(underWay);
    }
    const over = job.done === job.total;
    // what was stopped stays open, and goes on at the next start
    if (!over && !this.#cancelled.has(job.id)) return;
    const { remainingMs: _none, ...ended } = job;
    const failed = job.failed === job.total && job.total > 0;
    await this.#keep({ ...ended, state: !over ? 'cancelled' : failed ? 'failed' : 'done' });
  }

  #goesOn({ id }: Job): boolean {
    return !this.#stopped && !this.#cancelled.has(id);
  }

  /** Does one part, and says why where it did not come out. What is busy now is tried again. */
  async #try(job: Job, part: number, doPart: DoPart): Promise<string | typeof MADE | typeof FOUND | typeof LEFT> {
    for (;;) {
      if (job.product !== null && (job.productGone || this.#disowned.has(job.id))) return describeDeleted(job.product);
      try {
        return (await doPart(job, part)) === 'found' ? FOUND : MADE;
      } catch (error) {
        // what fails because everything is closing is made at the next start
        if (this.#stopped) return LEFT;
        if (!isBusyNow(error)) return error instanceof Error ? error.message : String(error);
        await waitWhileBusy();
        if (!this.#goesOn(job)) return LEFT;
      }
    }
  }

  async #keep(job: Job): Promise<Job> {
    await this.#store.saveProgress(job);
    this.#tell(job);
    return job;
  }

  #tell(job: Job): void {
    if (job.state === 'running') this.#current = job;
    this.#events.emit(job.id, job);
  }
}

/** A job that cannot be kept, such as on a full disk, to those who watch it. */
function tellLost({ remainingMs: _, ...job }: Job): Job {
  const line = 'Its progress could not be kept, so that it stopped. It goes on when the service is started again.';
  return { ...job, state: 'failed', failures: [...job.failures, line] };
}

/** The job with one part more that is over; `failure` says why it did not come out. */
function addOutcome(job: Job, part: number, failure: string | null): Job {
  const finished = addPart(job.finished, part);
  const done = countParts(finished);
  if (failure === null) return { ...job, finished, done };
  const known = job.failures.includes(failure) || job.failures.length >= FAILURES_KEPT;
  return {
    ...job,
    finished,
    done,
    failed: job.failed + 1,
    failedParts: addPart(job.failedParts, part),
    failures: known ? job.failures : [...job.failures, failure],
  };
}

/** Why a picture failed whose product was deleted after the job began. */
export function describeDeleted(product: string): string {
  return `${product} was deleted after the job began; Dyeworks makes no more of its pictures.`;
}
