import { EventEmitter } from 'node:events';
import type { Job, JobStore } from '../core/ports/jobs.ts';
import { Problem } from '../core/problems.ts';
import { isBusyNow, waitWhileBusy } from './busy.ts';
import { createPace } from './pace.ts';

/** Jobs that may wait; each is a whole schedule's pictures. */
const QUEUE_LIMIT = 100;
/** Lines kept of what did not come out; the rest is counted. */
const FAILURES_KEPT = 100;

/** Does one part of a job; parts are counted, so that a job taken up again goes on where it stopped. */
export type DoPart = (job: Job, part: number) => Promise<void>;

/**
 * Runs jobs one after the other, saving after every part. A part that fails is noted and the job goes on;
 * a job left over from before a restart goes on where it stood.
 */
export class JobRunner {
  readonly #events = new EventEmitter().setMaxListeners(0);
  readonly #queue: Job[] = [];
  readonly #cancelled = new Set<string>();
  readonly #store: JobStore;
  #doPart: DoPart | null = null;
  #running: Promise<void> | null = null;
  #stopped = false;
  #current: Job | null = null;

  readonly #log: (error: unknown) => void;

  readonly #now: () => number;

  /**
   * @param log told what went wrong with the keeping of jobs themselves
   * @param now in milliseconds
   */
  constructor(store: JobStore, log: (error: unknown) => void = () => undefined, now: () => number = Date.now) {
    this.#store = store;
    this.#now = now;
    this.#log = log;
  }

  /** Starts working, open jobs of an earlier run first. */
  async start(doPart: DoPart): Promise<void> {
    this.#doPart = doPart;
    this.#queue.unshift(...(await this.#store.listOpen()));
    this.#work();
  }

  /** @throws Problem `queue-full` */
  async add(job: Pick<Job, 'id' | 'kind' | 'product' | 'total' | 'request'>): Promise<Job> {
    if (this.#queue.length >= QUEUE_LIMIT) {
      throw new Problem('queue-full', {
        detail: `${QUEUE_LIMIT} jobs are waiting already. Try again when some are done.`,
      });
    }
    const queued: Job = { ...job, state: 'queued', done: 0, failed: 0, failures: [] };
    await this.#store.add(queued);
    this.#queue.push(queued);
    this.#work();
    return queued;
  }

  async get(id: string): Promise<Job> {
    const job = this.#current?.id === id ? this.#current : await this.#store.get(id);
    if (job) return job;
    throw new Problem('unknown-job', { detail: `There is no job “${id.slice(0, 80)}”.`, received: id.slice(0, 80) });
  }

  async cancel(id: string): Promise<Job> {
    const job = await this.get(id);
    if (job.state !== 'queued' && job.state !== 'running') return job;
    const waiting = this.#queue.findIndex((queued) => queued.id === id);
    if (waiting >= 0) {
      this.#queue.splice(waiting, 1);
      return this.#save({ ...job, state: 'cancelled' });
    }
    this.#cancelled.add(id);
    return job;
  }

  /** The job now and at every change, until it has ended. */
  async *watch(id: string, signal: AbortSignal): AsyncGenerator<Job> {
    const changes: Job[] = [];
    let wake = () => {};
    const listener = (job: Job) => {
      changes.push(job);
      wake();
    };
    this.#events.on(id, listener);
    const onAbort = () => wake();
    signal.addEventListener('abort', onAbort);
    try {
      changes.unshift(await this.get(id));
      while (!signal.aborted) {
        const job = changes.shift();
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

  /** Waits for the part under way, finished or abandoned; what is left goes on at the next start. */
  async stop(): Promise<void> {
    this.#stopped = true;
    await this.#running;
  }

  #work(): void {
    if (this.#running || this.#stopped || !this.#doPart) return;
    const job = this.#queue.shift();
    if (!job) return;
    // a job that cannot be kept (a full disk) stays open, and is taken up at the next start
    this.#running = this.#run(job, this.#doPart)
      .catch(this.#log)
      .finally(() => {
        this.#running = null;
        this.#current = null;
        this.#work();
      });
  }

  async #run(given: Job, doPart: DoPart): Promise<void> {
    const { remainingMs: _, ...fresh } = given;
    let job: Job = await this.#save({ ...fresh, state: 'running' });
    const pace = createPace(this.#now);
    while (job.done < job.total) {
      if (this.#stopped) return;
      if (this.#cancelled.delete(job.id)) {
        const { remainingMs: _none, ...ended } = job;
        await this.#save({ ...ended, state: 'cancelled' });
        return;
      }
      const failure = await this.#try(job, doPart);
      if (failure === 'stopped') return;
      pace.tick();
      job = await this.#save({
        ...job,
        done: job.done + 1,
        remainingMs: pace.estimate(job.total - job.done - 1),
        failed: job.failed + (failure === null ? 0 : 1),
        failures: failure === null || job.failures.length >= FAILURES_KEPT ? job.failures : [...job.failures, failure],
      });
    }
    const { remainingMs: _none, ...ended } = job;
    await this.#save({ ...ended, state: job.failed === job.total && job.total > 0 ? 'failed' : 'done' });
  }

  /** Does one part; null when it came out, else why not. What is busy now is tried again. */
  async #try(job: Job, doPart: DoPart): Promise<string | null> {
    for (;;) {
      try {
        await doPart(job, job.done);
        return null;
      } catch (error) {
        // what fails because everything is closing is made at the next start
        if (this.#stopped) return 'stopped';
        if (!isBusyNow(error)) return error instanceof Error ? error.message : String(error);
        await waitWhileBusy();
        if (this.#stopped) return 'stopped';
      }
    }
  }

  async #save(job: Job): Promise<Job> {
    await this.#store.saveProgress(job);
    if (job.state === 'running') this.#current = job;
    this.#events.emit(job.id, job);
    return job;
  }
}
