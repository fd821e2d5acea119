import { EventEmitter } from 'node:events';
import { foldCode } from '../core/codes.ts';
import {
  countLeading,
  findOpenPart,
  type Job,
  type JobFilter,
  type JobStore,
  type ListedJob,
} from '../core/job/job.ts';
import { Problem } from '../core/problems.ts';
import { explainStorageFault } from '../core/storage-faults.ts';
import { JOB_TEXTS } from '../core/texts/answer-texts.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Jobs } from './context.ts';
import { addOutcome, describeLost, trackTime } from './job-progress.ts';
import { isBusyNow, waitWhileBusy } from './retry-while-busy.ts';
import { steadyNow } from './steady-now.ts';

/** Jobs that may wait. Each makes the pictures of a whole schedule. */
const QUEUE_LIMIT = 100;
/**
 * How far parts may run ahead of the first unfinished one. Readers get pictures in order, so a slow picture holds back those
 * after it.
 */
const AHEAD = 200;

/**
 * How long the job waits before it saves parts that existed already. Finding them again costs nothing, and a synced write for
 * each takes longer than finding it.
 */
const FOUND_KEPT_MS = 250;

const MADE = Symbol('made');
const FOUND = Symbol('found');
/** A part that began and neither succeeded nor failed, because the job or the service stops. */
const LEFT = Symbol('left');

/** Does one part of a job, by its number from 0. The signal aborts when the job is cancelled or the service stops. The answer `found` means that the result existed already. */
export type DoPart = (job: Job, part: number, signal: AbortSignal) => Promise<unknown>;

type GivenJob = Pick<Job, 'id' | 'kind' | 'product' | 'line' | 'total' | 'request'>;

/**
 * Runs one job after the other, and several parts of a job at once: composing and encoding then use all cores while the studio
 * takes one shot after another. It saves the progress after every part. If a part fails, the job continues. After a restart,
 * open jobs continue where they stopped.
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
  /** Ends the parts of the current job that take long. */
  #ending = new AbortController();

  /**
   * @param log gets the errors of saving progress
   * @param now in milliseconds, of a clock that is never set back
   * @param atOnce parts of a job that run at once
   */
  constructor(
    store: JobStore,
    log: (error: unknown) => void = () => undefined,
    now: () => number = steadyNow,
    atOnce = 2,
  ) {
    this.#store = store;
    this.#now = now;
    this.#log = log;
    this.#atOnce = atOnce;
  }

  /** Starts work, with the open jobs of an earlier run first. */
  async start(doPart: DoPart): Promise<void> {
    this.#doPart = doPart;
    const open = await this.#store.listOpen();
    // the list includes jobs that were added in the meantime
    const known = new Set([...this.#queue.map(({ id }) => id), this.#current?.id]);
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

  /** The latest jobs, newest first. */
  async listLast(limit: number, of?: JobFilter): Promise<ListedJob[]> {
    const listed = await this.#store.listLast(limit, of);
    return listed.map((job) => {
      if (job.id !== this.#current?.id) return job;
      const { state, done, failed, remainingMs } = this.#current;
      return { ...job, state, done, failed, ...(remainingMs !== undefined && { remainingMs }) };
    });
  }

  /** Cancels a waiting job at once, and a running one as soon as its current parts end. */
  async cancel(id: string): Promise<Job> {
    const job = await this.get(id);
    if (job.state !== 'queued' && job.state !== 'running') return job;
    const waiting = this.#queue.findIndex((queued) => queued.id === id);
    if (waiting >= 0) {
      const [queued] = this.#queue.splice(waiting, 1);
      return this.#save({ ...job, state: 'cancelled' }).catch((error: unknown) => {
        this.#queue.splice(waiting, 0, queued!);
        // the job before it may have ended in the meantime
        this.#work();
        throw error;
      });
    }
    // a job whose progress could not be saved is open, but does not run
    if (id !== this.#current?.id) return this.#save({ ...job, state: 'cancelled' });
    this.#cancelled.add(id);
    this.#ending.abort();
    return job;
  }

  /**
   * Makes the remaining parts of a deleted product's open jobs fail, so that they do not continue with a later product of the
   * same code.
   */
  disown(product: string): void {
    const open = this.#current ? [...this.#queue, this.#current] : this.#queue;
    for (const job of open) {
      if (job.product !== null && foldCode(job.product) === foldCode(product)) this.#disowned.add(job.id);
    }
  }

  /** The job as it is, and again after changes, until it ends. */
  async *watch(id: string, signal: AbortSignal): AsyncGenerator<Job> {
    let latest: Job | null = null;
    let wake = () => {};
    const listener = (job: Job) => {
      // progress only grows, so a slow reader misses only figures in between
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

  /** Waits until the current parts end. The rest continues at the next start. */
  async stop(): Promise<void> {
    this.#stopped = true;
    this.#ending.abort();
    await this.#running;
  }

  #work(): void {
    if (this.#running || this.#stopped || !this.#doPart) return;
    const job = this.#queue.shift();
    if (!job) return;
    this.#current = job;
    this.#ending = new AbortController();
    this.#running = this.#run(job, this.#doPart)
      .catch((error: unknown) => {
        this.#log(error);
        // the job stays open and continues at the next start; readers must not wait until then
        this.#events.emit(job.id, describeLost(this.#current ?? job));
      })
      .finally(() => {
        this.#cancelled.delete(job.id);
        this.#disowned.delete(job.id);
        this.#running = null;
        this.#current = null;
        this.#work();
      });
  }

  async #run(given: Job, doPart: DoPart): Promise<void> {
    const { remainingMs: _, ...fresh } = given;
    let job: Job = await this.#save({ ...fresh, state: 'running' });
    const time = trackTime(this.#now);
    const underWay = new Set<Promise<void>>();
    let next = 0;
    let ticks = 0;
    let made = false;
    let keptAt = this.#now();
    const begin = (part: number) => {
      const ended = this.#try(job, part, doPart).then((outcome) => {
        underWay.delete(ended);
        if (outcome === LEFT) return;
        if (outcome === FOUND) time.exclude();
        else {
          made = true;
          time.tick();
          ticks++;
        }
        job = addOutcome(job, part, typeof outcome === 'string' ? outcome : null);
        // until all parts that began together end, the first would stand for the time of all of them
        if (ticks >= this.#atOnce) job = { ...job, remainingMs: time.estimate(job.total - job.done) };
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
        // parts that end while this is saved come with the next save
        if (made || this.#now() - keptAt >= FOUND_KEPT_MS) {
          made = false;
          keptAt = this.#now();
          await this.#save(job);
        } else this.#publish(job);
      }
    } finally {
      await Promise.all(underWay);
    }
    const over = job.done === job.total;
    // a stopped job stays open, and continues at the next start
    if (!over && !this.#cancelled.has(job.id)) return;
    const { remainingMs: _none, ...ended } = job;
    const failed = job.failed === job.total && job.total > 0;
    await this.#save({ ...ended, state: !over ? 'cancelled' : failed ? 'failed' : 'done' });
  }

  #goesOn({ id }: Job): boolean {
    return !this.#stopped && !this.#cancelled.has(id);
  }

  /** Does one part. A text says why it failed. While the studio is full, it tries again. */
  async #try(job: Job, part: number, doPart: DoPart): Promise<string | typeof MADE | typeof FOUND | typeof LEFT> {
    for (;;) {
      if (job.product !== null && (job.productGone || this.#disowned.has(job.id)))
        return JOB_TEXTS.productDeleted(job.product);
      try {
        return (await doPart(job, part, this.#ending.signal)) === 'found' ? FOUND : MADE;
      } catch (error) {
        // a part that fails because the service stops is made at the next start
        if (this.#stopped || (this.#cancelled.has(job.id) && isCancelled(error))) return LEFT;
        if (!isBusyNow(error)) return messageOf(explainStorageFault(error) ?? error);
        await waitWhileBusy();
        if (!this.#goesOn(job)) return LEFT;
      }
    }
  }

  async #save(job: Job): Promise<Job> {
    await this.#store.saveProgress(job);
    this.#publish(job);
    return job;
  }

  #publish(job: Job): void {
    if (job.state === 'running') this.#current = job;
    this.#events.emit(job.id, job);
  }
}

function isCancelled(error: unknown): boolean {
  return error instanceof Problem && error.code === 'work-cancelled';
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
