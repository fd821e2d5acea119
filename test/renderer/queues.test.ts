import { describe, expect, it } from 'vitest';
import { createShotQueue, limitWork } from '../../renderer/queues.ts';

describe('the shot queue', () => {
  it('runs one at a time, in order, and continues after a failure', async () => {
    const queue = createShotQueue(8);
    const seen: string[] = [];
    const work = (name: string) => async () => {
      seen.push(`${name} starts`);
      await Promise.resolve();
      seen.push(`${name} ends`);
      if (name === 'a') throw new Error('a fails');
    };
    const results = await Promise.allSettled([queue.run(work('a')), queue.run(work('b'))]);
    expect(results.map(({ status }) => status)).toEqual(['rejected', 'fulfilled']);
    expect(seen).toEqual(['a starts', 'a ends', 'b starts', 'b ends']);
  });

  it('runs quick shots before slow ones, each kind in order', async () => {
    const queue = createShotQueue(8);
    const seen: string[] = [];
    const note = (name: string) => async () => void seen.push(name);
    await Promise.all([
      queue.run(note('under way')),
      queue.run(note('slow 1')),
      queue.run(note('quick 1'), true),
      queue.run(note('slow 2')),
      queue.run(note('quick 2'), true),
    ]);
    expect(seen).toEqual(['under way', 'quick 1', 'quick 2', 'slow 1', 'slow 2']);
  });

  it('accepts no more than its limit beside the current shot', async () => {
    const queue = createShotQueue(2);
    let release = () => {};
    const held = queue.run(() => new Promise<void>((resolve) => (release = resolve)));
    const waiting = [queue.run(async () => 1), queue.run(async () => 2)];
    await expect(queue.run(async () => 3)).rejects.toMatchObject({ code: 'renderer-busy' });
    release();
    await held;
    expect(await Promise.all(waiting)).toEqual([1, 2]);
    expect(await queue.run(async () => 4)).toBe(4);
  });

  it('refuses waiting shots when it closes', async () => {
    const queue = createShotQueue(2);
    let release = () => {};
    const held = queue.run(() => new Promise<void>((resolve) => (release = resolve)));
    const refused = expect(queue.run(async () => 1)).rejects.toMatchObject({ code: 'renderer-closing' });
    // The first has begun.
    await new Promise((resolve) => setImmediate(resolve));
    const closed = queue.close();
    release();
    await Promise.all([held, refused, closed]);
  });
});

it('limits running and waiting work, and refuses more', async () => {
  const limit = limitWork(2, 3);
  let running = 0;
  let most = 0;
  const release: (() => void)[] = [];
  const work = () =>
    limit(async () => {
      most = Math.max(most, ++running);
      await new Promise<void>((resolve) => release.push(resolve));
      running--;
    });
  const taken = Array.from({ length: 5 }, work);
  await expect(work()).rejects.toMatchObject({ code: 'queue-full' });
  for (let done = 0; done < 5; done++) {
    while (release.length === 0) await Promise.resolve();
    release.shift()!();
    await Promise.resolve();
  }
  await Promise.all(taken);
  expect(most).toBe(2);
  expect(await limit(async () => 'again')).toBe('again');
});

it('frees its place when work fails', async () => {
  const limit = limitWork(1, 1);
  await expect(limit(() => Promise.reject(new Error('no')))).rejects.toThrow('no');
  expect(await limit(async () => 1)).toBe(1);
});
