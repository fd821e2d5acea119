import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { createJobStore } from '../../../db/create-job-store.ts';
import { openDatabase } from '../../../db/open-database.ts';
import { trackTime } from '../../../server/actions/job-progress.ts';
import { type DoPart, JobRunner } from '../../../server/actions/job-runner.ts';
import type { Job } from '../../../server/core/job/job.ts';
import { Problem } from '../../../server/core/problems.ts';

let db: Awaited<ReturnType<typeof openDatabase>>;
beforeEach(async () => {
  db = await openDatabase(':memory:');
});
afterEach(() => db.destroy());

const job = (total: number, id = 'a') => ({ id, kind: 'pictures', product: 'P', total, request: { of: [] } }) as const;

/** Parts that end when the test says so. */
function createParts() {
  const open = new Map<number, { resolve(): void; reject(error: unknown): void }>();
  const begun: number[] = [];
  const doPart: DoPart = (_, part) => {
    begun.push(part);
    return new Promise<void>((resolve, reject) => open.set(part, { resolve, reject }));
  };
  const take = (part: number) => {
    const found = open.get(part)!;
    open.delete(part);
    return found;
  };
  return {
    doPart,
    begun,
    open,
    end: (part: number) => take(part).resolve(),
    fail: (part: number, error: unknown) => take(part).reject(error),
  };
}

const follow = async (jobs: JobRunner, id = 'a') => {
  const seen: Job[] = [];
  for await (const each of jobs.watch(id, new AbortController().signal)) seen.push(each);
  return seen;
};

const waitFor = (check: () => unknown) => vi.waitFor(() => expect(check()).toBeTruthy(), { interval: 5 });

it('estimates the remaining time from the last twenty parts', async () => {
  let now = 0;
  const time = trackTime(() => now);
  expect(time.estimate(10)).toBe(0);
  for (let part = 0; part < 30; part++) {
    // ten are found at once, the others take two seconds each
    now += part < 10 ? 0 : 2000;
    time.tick();
  }
  expect(time.estimate(5)).toBe(10_000);
});

it('leaves parts that existed already out of the estimate', async () => {
  let now = 0;
  const time = trackTime(() => now);
  now = 60_000;
  time.exclude();
  expect(time.estimate(5)).toBe(0);
  now += 2000;
  time.tick();
  time.exclude();
  expect(time.estimate(5)).toBe(10_000);

  const jobs = new JobRunner(createJobStore(db), undefined, () => now, 1);
  await jobs.start(async (_, part) => {
    if (part < 4) return 'found';
    now += 1000;
  });
  await jobs.add(job(10));
  const seen = (await follow(jobs)).filter(({ state, done }) => state === 'running' && done > 0);
  for (const { done, remainingMs } of seen) expect(remainingMs).toBe(done <= 4 ? undefined : (10 - done) * 1000);
  expect(seen.some(({ done }) => done <= 4) && seen.some(({ done }) => done > 4)).toBe(true);
});

it('says it of a job while it runs, and not of one that has ended', async () => {
  let now = 0;
  const store = createJobStore(db);
  const jobs = new JobRunner(store, undefined, () => now, 1);
  await jobs.start(async () => {
    now += 500;
  });
  await jobs.add(job(3));
  const seen = (await follow(jobs)).filter(({ done }) => done > 0).map(({ remainingMs }) => remainingMs);
  expect(seen.at(-1)).toBeUndefined();
  expect(seen.slice(0, -1).every((ms) => ms !== undefined && ms % 500 === 0)).toBe(true);
  expect(await store.get('a')).toMatchObject({ state: 'done', done: 3, finished: [[0, 3]] });
});

describe('several parts at once', () => {
  it('begin in order, never more than asked for, and the next begins whichever ends', async () => {
    const parts = createParts();
    const jobs = new JobRunner(createJobStore(db), undefined, undefined, 3);
    await jobs.start(parts.doPart);
    await jobs.add(job(6));
    await waitFor(() => parts.begun.length === 3);
    parts.end(1);
    await waitFor(() => parts.begun.length === 4);
    expect(parts.begun).toEqual([0, 1, 2, 3]);
    expect(await jobs.get('a')).toMatchObject({ done: 1, finished: [[1, 2]] });
    for (const part of [3, 2, 0, 4, 5]) {
      await waitFor(() => parts.open.has(part));
      parts.end(part);
    }
    expect((await follow(jobs)).at(-1)).toMatchObject({ state: 'done', done: 6, failed: 0 });
    expect(parts.begun).toEqual([0, 1, 2, 3, 4, 5]);
  });

  it('do not run away from one that takes long', async () => {
    const begun = new Set<number>();
    let free = () => {};
    const jobs = new JobRunner(createJobStore(db), undefined, undefined, 2);
    await jobs.start((_, part) => {
      begun.add(part);
      return part === 0 ? new Promise<void>((resolve) => (free = resolve)) : Promise.resolve();
    });
    await jobs.add(job(1000));
    await waitFor(() => begun.size === 200);
    await new Promise((resolve) => setTimeout(resolve, 30));
    expect(Math.max(...begun)).toBe(199);
    free();
    expect((await follow(jobs)).at(-1)).toMatchObject({ state: 'done', done: 1000 });
  });

  it('tell the time left by what they finish together', async () => {
    const parts = createParts();
    let now = 0;
    const jobs = new JobRunner(createJobStore(db), undefined, () => now, 2);
    await jobs.start(parts.doPart);
    await jobs.add(job(10));
    for (const part of [0, 1, 2, 3]) {
      await waitFor(() => parts.open.has(part));
      // each takes two seconds, and two are under way: one ends every second
      now += 1000;
      parts.end(part);
      await waitFor(() => parts.begun.length > part + 2);
    }
    expect((await jobs.get('a')).remainingMs).toBe(6000);
    await jobs.cancel('a');
    for (const part of parts.open.keys()) parts.end(part);
    await follow(jobs);
  });
});

describe('a job after a restart', () => {
  it('does what was not over, and nothing twice; what failed before is counted once', async () => {
    const before = createParts();
    const jobs = new JobRunner(createJobStore(db), undefined, undefined, 3);
    await jobs.start(before.doPart);
    await jobs.add(job(7));
    await waitFor(() => before.begun.length === 3);
    before.fail(1, new Error('It was too dark.'));
    await waitFor(() => before.open.has(3));
    before.end(3);
    await waitFor(() => before.open.has(4));
    // the process ends here: nothing under way is ever over, and nobody says goodbye
    expect(await createJobStore(db).get('a')).toMatchObject({
      state: 'running',
      done: 2,
      finished: [
        [1, 2],
        [3, 4],
      ],
    });
    const after: number[] = [];
    const next = new JobRunner(createJobStore(db), undefined, undefined, 3);
    await next.start(async (_, part) => void after.push(part));
    expect((await follow(next)).at(-1)).toMatchObject({
      state: 'done',
      done: 7,
      failed: 1,
      failures: ['It was too dark.'],
      failedParts: [[1, 2]],
    });
    expect(after).toEqual([0, 2, 4, 5, 6]);
  });

  it('goes on with one kept by a version that did parts one after the other', async () => {
    const progress = JSON.stringify({ state: 'running', done: 2, failed: 1, failures: ['No.'] });
    const data = JSON.stringify({ kind: 'pictures', product: 'P', total: 4, request: {} });
    await db.insertInto('jobs').values({ id: 'old', data, state: 'running', progress }).execute();
    const made: number[] = [];
    const jobs = new JobRunner(createJobStore(db));
    await jobs.start(async (_, part) => void made.push(part));
    expect((await follow(jobs, 'old')).at(-1)).toMatchObject({ state: 'done', done: 4, failed: 1, failures: ['No.'] });
    expect(made).toEqual([2, 3]);
  });
});

it('saves what is made at once, and what was there already now and then', async () => {
  const store = createJobStore(db);
  let saved = 0;
  const counting = {
    ...store,
    saveProgress: (each: Job) => {
      saved++;
      return store.saveProgress(each);
    },
  };
  let now = 0;
  const jobs = new JobRunner(counting, undefined, () => now, 1);
  await jobs.start(async (each, part) => {
    now += each.id === 'a' ? 1 : 0;
    return each.id === 'a' ? 'found' : part;
  });
  await jobs.add(job(1000, 'a'));
  expect((await follow(jobs, 'a')).at(-1)).toMatchObject({ state: 'done', done: 1000 });
  expect(await store.get('a')).toMatchObject({ state: 'done', done: 1000, finished: [[0, 1000]] });
  // its start, every 250 ms of a second, and its end
  expect(saved).toBe(1 + 4 + 1);
  saved = 0;
  await jobs.add(job(20, 'b'));
  await follow(jobs, 'b');
  expect(saved).toBe(1 + 20 + 1);
});

it('stops between parts when cancelled: what is under way is finished and counted, nothing more begins', async () => {
  const parts = createParts();
  const jobs = new JobRunner(createJobStore(db), undefined, undefined, 2);
  await jobs.start(parts.doPart);
  await jobs.add(job(5));
  await waitFor(() => parts.begun.length === 2);
  await jobs.cancel('a');
  parts.end(1);
  parts.end(0);
  expect((await follow(jobs)).at(-1)).toMatchObject({ state: 'cancelled', done: 2 });
  expect(parts.begun).toEqual([0, 1]);
});

it('waits for what is busy and gives it up when cancelled', async () => {
  let asked = 0;
  const jobs = new JobRunner(createJobStore(db), undefined, undefined, 1);
  await jobs.start(async () => {
    asked++;
    throw new Problem('renderer-busy', { detail: 'Full.' });
  });
  await jobs.add(job(3));
  await waitFor(() => asked > 0);
  await jobs.cancel('a');
  expect((await follow(jobs)).at(-1)).toMatchObject({ state: 'cancelled', done: 0, failed: 0 });
});

it('says the same reason once, and counts every part it holds of', async () => {
  const jobs = new JobRunner(createJobStore(db));
  await jobs.start(async () => {
    throw new Error('P was deleted.');
  });
  await jobs.add(job(50));
  expect((await follow(jobs)).at(-1)).toMatchObject({
    state: 'failed',
    done: 50,
    failed: 50,
    failures: ['P was deleted.'],
    failedParts: [[0, 50]],
  });
});

it('lists the last jobs, the latest first, of a product or a line, with the progress of the one that runs', async () => {
  const parts = createParts();
  const jobs = new JobRunner(createJobStore(db), undefined, undefined, 1);
  await jobs.start(parts.doPart);
  await jobs.add(job(2, 'a'));
  await jobs.add({ ...job(3, 'b'), product: null, line: 'Fen' });
  await waitFor(() => parts.open.has(0));
  parts.end(0);
  await waitFor(() => parts.open.has(1));
  expect(await jobs.listLast(10)).toEqual([
    { id: 'b', kind: 'pictures', product: null, line: 'Fen', state: 'queued', done: 0, total: 3, failed: 0, place: 2 },
    expect.objectContaining({ id: 'a', product: 'P', state: 'running', done: 1, remainingMs: expect.any(Number) }),
  ]);
  expect((await jobs.listLast(10, { product: 'p' })).map(({ id }) => id)).toEqual(['a']);
  expect((await jobs.listLast(10, { line: 'FEN' })).map(({ id }) => id)).toEqual(['b']);
  expect(await jobs.listLast(1)).toHaveLength(1);
  await jobs.cancel('b');
  parts.end(1);
  await follow(jobs);
});

it('makes nothing more of a job whose product was deleted, and goes on with others', async () => {
  const jobs = new JobRunner(createJobStore(db), undefined, undefined, 1);
  const parts = createParts();
  await jobs.start(parts.doPart);
  await jobs.add(job(3));
  await jobs.add(job(2, 'waiting'));
  await waitFor(() => parts.open.has(0));
  jobs.disown('p');
  // one that is added afterwards is of another product under the same code
  await jobs.add(job(1, 'successor'));
  parts.end(0);
  const gone = { failures: ['P was deleted after the job began; Dyeworks makes no more of its pictures.'] };
  expect((await follow(jobs)).at(-1)).toMatchObject({ ...gone, state: 'done', done: 3, failed: 2 });
  expect((await follow(jobs, 'waiting')).at(-1)).toMatchObject({ ...gone, state: 'failed', failed: 2 });
  await waitFor(() => parts.open.has(0));
  parts.end(0);
  expect((await follow(jobs, 'successor')).at(-1)).toMatchObject({ state: 'done', failed: 0 });
  expect(parts.begun).toEqual([0, 0]);
  await jobs.stop();
});

it('ends a part that takes long when its job is cancelled, and counts it neither as done nor as failed', async () => {
  const jobs = new JobRunner(createJobStore(db), undefined, undefined, 1);
  const begun: number[] = [];
  await jobs.start((_, part, signal) => {
    begun.push(part);
    return new Promise((_resolve, reject) => {
      signal.addEventListener('abort', () => reject(new Problem('work-cancelled', { detail: 'cancelled' })));
    });
  });
  await jobs.add(job(3));
  await waitFor(() => begun.length === 1);
  await jobs.cancel('a');
  expect((await follow(jobs)).at(-1)).toMatchObject({ state: 'cancelled', done: 0, failed: 0 });
  expect(begun).toEqual([0]);
});
