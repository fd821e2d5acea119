import { afterEach, describe, expect, it } from 'vitest';
import { Problem } from '../../../server/core/problems.ts';
import { createThreadPool, type ThreadPool } from '../../../server/threads/thread-pool.ts';

type Task =
  | { readonly kind: 'add'; readonly a: number }
  | { readonly kind: 'hang' }
  | { readonly kind: 'fill' }
  | { readonly kind: 'refuse' }
  | { readonly kind: 'disk' }
  | { readonly kind: 'end' };
type Results = { add: number; hang: never; fill: never; refuse: never; disk: never; end: never };

let pool: ThreadPool<Task, Results>;
afterEach(() => pool?.close());

const open = (options: { heapMb?: number; timeoutMs?: number; count?: number; mostWaiting?: number } = {}) =>
  createThreadPool<Task, Results>({
    entry: new URL('../../support/odd-worker.mjs', import.meta.url),
    refuse: (cause, limit) =>
      new Problem(limit === 'time' ? 'model-took-too-long' : 'model-too-complex', { detail: 'too much', cause }),
    ...options,
  });

// What worker threads do when they run out of memory, or end, is in Node's documentation (worker_threads, `resourceLimits`).
describe('a pool of threads', () => {
  // generous, since a new thread on a loaded machine takes seconds to start
  it('refuses a task that does not end; the time of the next counts from its own start', async () => {
    pool = open({ timeoutMs: 10_000 });
    const first = pool.run({ kind: 'hang' }).catch((error: Problem) => error.code);
    const second = pool.run({ kind: 'add', a: 1 });
    expect(await first).toBe('model-took-too-long');
    expect(await second).toBe(2);
  });

  it('refuses a task that fills the memory, or ends its thread, and goes on with the next', async () => {
    pool = open({ heapMb: 32 });
    await expect(pool.run({ kind: 'fill' })).rejects.toMatchObject({ code: 'model-too-complex' });
    await expect(pool.run({ kind: 'end' })).rejects.toMatchObject({ code: 'model-too-complex' });
    expect(await pool.run({ kind: 'add', a: 1 })).toBe(2);
  });

  it('says which system call failed, so that a full disk can be told from a bug', async () => {
    pool = open();
    const error = { code: 'ENOENT', syscall: 'open', path: '/nowhere/at-all' };
    await expect(pool.run({ kind: 'disk' })).rejects.toMatchObject(error);
  });

  it('does a small task beside heavy ones that never end, and stops those when their callers leave', async () => {
    pool = open({ count: 2 });
    const callers = ['a', 'b'].map((owner) => {
      const gone = new AbortController();
      const work = { owner, isHeavy: true, signal: gone.signal };
      const answer = pool.run({ kind: 'hang' }, [], work).catch((error: Problem) => error.code);
      return { gone, answer };
    });
    expect(await pool.run({ kind: 'add', a: 1 }, [], { owner: 'c' })).toBe(2);
    for (const { gone } of callers) gone.abort();
    expect(await Promise.all(callers.map(({ answer }) => answer))).toEqual(['work-cancelled', 'work-cancelled']);
    expect(await pool.run({ kind: 'add', a: 2 }, [], { owner: 'a', isHeavy: true })).toBe(3);
  });

  it('refuses a caller when too many tasks wait', async () => {
    pool = open({ mostWaiting: 1 });
    const gone = new AbortController();
    const work = { signal: gone.signal };
    const held = [1, 2].map(() => pool.run({ kind: 'hang' }, [], work).catch((error: Problem) => error.code));
    await expect(pool.run({ kind: 'add', a: 1 }, [], work)).rejects.toMatchObject({ code: 'queue-full' });
    gone.abort();
    expect(await Promise.all(held)).toEqual(['work-cancelled', 'work-cancelled']);
  });

  it('hands a problem over as it was thrown', async () => {
    pool = open();
    const error = await pool.run({ kind: 'refuse' }).catch((thrown: unknown) => thrown);
    expect(error).toBeInstanceOf(Problem);
    expect(error).toMatchObject({ code: 'image-unreadable', more: { where: 'image 3' } });
  });
});
