import { describe, expect, it } from 'vitest';
import { FairQueue, type QueuedWork } from '../../../server/threads/fair-queue.ts';

/** A queue whose tasks end when the test says so; `started` has their names in the order of their starts. */
function makeQueue(places: number, mostWaiting?: number) {
  const queue = new FairQueue(places, mostWaiting);
  const started: string[] = [];
  const ends = new Map<string, () => void>();
  const add = (name: string, work: QueuedWork = {}) =>
    queue
      .run(work, () => {
        started.push(name);
        return new Promise<void>((resolve) => ends.set(name, resolve));
      })
      .then(
        () => `${name} done`,
        (error: unknown) => error,
      );
  const end = async (name: string) => {
    ends.get(name)!();
    await new Promise(setImmediate);
  };
  return { queue, started, add, end };
}

describe('a queue of work', () => {
  it('gives owners turns, whatever they have waiting', async () => {
    const { started, add, end } = makeQueue(1);
    for (const name of ['a1', 'a2', 'a3', 'b1', 'c1', 'b2']) add(name, { owner: name[0]! });
    for (const name of ['a1', 'a2', 'b1', 'c1', 'a3']) await end(name);
    expect(started).toEqual(['a1', 'a2', 'b1', 'c1', 'a3', 'b2']);
  });

  it('keeps a place free of heavy tasks, and of a single owner', async () => {
    const { started, add, end } = makeQueue(3);
    for (const name of ['a', 'b', 'c']) add(name, { owner: name, isHeavy: true });
    expect(started).toEqual(['a', 'b']);
    add('small', { owner: 'd' });
    expect(started).toEqual(['a', 'b', 'small']);
    await end('a');
    expect(started).toEqual(['a', 'b', 'small', 'c']);

    const other = makeQueue(3);
    for (const name of ['a1', 'a2', 'a3']) other.add(name, { owner: 'a' });
    other.add('b1', { owner: 'b' });
    expect(other.started).toEqual(['a1', 'a2', 'b1']);
  });

  it('uses all places for tasks without an owner, and the only place for anything', () => {
    const many = makeQueue(3);
    for (const name of ['1', '2', '3', '4']) many.add(name);
    expect(many.started).toEqual(['1', '2', '3']);
    const single = makeQueue(1);
    single.add('large', { owner: 'a', isHeavy: true });
    expect(single.started).toEqual(['large']);
  });

  it('never starts a task whose caller left, and goes on after one that failed', async () => {
    const { queue, started, add, end } = makeQueue(1, 2);
    const gone = new AbortController();
    add('a');
    const left = add('b', { owner: 'b', signal: gone.signal });
    add('c');
    expect([queue.waiting, queue.isFull]).toEqual([2, true]);
    gone.abort('left');
    expect(await left).toBe('left');
    expect(queue.waiting).toBe(1);
    await end('a');
    expect(started).toEqual(['a', 'c']);
    await end('c');
    expect(await queue.run({}, () => Promise.reject(new Error('x'))).catch(String)).toBe('Error: x');
    expect(await queue.run({}, async () => 'on')).toBe('on');
    expect(await add('d', { signal: gone.signal })).toBe('left');
  });
});
