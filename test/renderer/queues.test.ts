import { describe, expect, it } from 'vitest';
import { createShotQueue, limitWork } from '../../renderer/queues.ts';
import type { Turn } from '../../server/core/ports/renderer.ts';

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
      queue.run(note('quick 1'), { effort: 0 }),
      queue.run(note('slow 2')),
      queue.run(note('quick 2'), { effort: 0 }),
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

describe('callers of the shot queue', () => {
  const person = (name = 'ada', signal?: AbortSignal) => ({ rank: 'person', name, ...(signal && { signal }) }) as const;
  const job = { rank: 'job', name: 'j' } as const;
  const guest = (name = 'g') => ({ rank: 'guest', name }) as const;

  /** A queue that is held until `release`, and the order in which shots ran. */
  function hold(limit = 64) {
    const queue = createShotQueue(limit);
    const seen: string[] = [];
    let release = () => {};
    const held = queue.run(() => new Promise<void>((resolve) => (release = resolve)));
    const note = (name: string, turn: Turn, effort: 0 | 1 | 2 = 1) =>
      queue.run(async () => void seen.push(name), { turn, effort });
    const end = () => {
      release();
      return held;
    };
    return { queue, seen, note, release: end };
  }

  it('persons come first, then jobs, with a guest after every third', async () => {
    const { seen, note, release } = hold();
    const all = [
      ...['g1', 'g2'].map((name) => note(name, guest())),
      ...['j1', 'j2', 'j3', 'j4', 'j5', 'j6', 'j7'].map((name) => note(name, job)),
      ...['p1', 'p2'].map((name) => note(name, person())),
    ];
    await release();
    await Promise.all(all);
    expect(seen).toEqual(['p1', 'p2', 'j1', 'j2', 'j3', 'g1', 'j4', 'j5', 'j6', 'g2', 'j7']);
  });

  it('a guest cannot hold up a person for more than one step of a large shot', async () => {
    const queue = createShotQueue(64);
    const seen: string[] = [];
    const taken: Promise<unknown>[] = [];
    const huge = queue.run(
      async (pause) => {
        for (let tile = 0; tile < 5; tile++) {
          if (tile > 0) await pause();
          seen.push(`tile ${tile}`);
          // while the tile is drawn, a person asks
          if (tile === 1) taken.push(queue.run(async () => void seen.push('person'), { turn: person(), effort: 1 }));
          if (tile === 2) taken.push(queue.run(async () => void seen.push('guest'), { turn: guest('h'), effort: 2 }));
          await Promise.resolve();
        }
      },
      { turn: guest(), effort: 2 },
    );
    await huge;
    await Promise.all(taken);
    // another large shot of a guest waits for this one: two that alternate would load their models again and again
    expect(seen).toEqual(['tile 0', 'tile 1', 'person', 'tile 2', 'tile 3', 'tile 4', 'guest']);
  });

  it('small shots go before a huge one, but not for ever', async () => {
    const { seen, note, release } = hold();
    const huge = note('huge', person(), 2);
    const small = Array.from({ length: 40 }, (_, n) => note(`small ${n}`, person(), 0));
    await release();
    await Promise.all([huge, ...small]);
    expect(seen.indexOf('huge')).toBe(16);
  });

  it('one caller cannot take all places, and guests have few', async () => {
    const { note, release } = hold(8);
    const refusal = { code: 'renderer-busy' };
    const ada = Array.from({ length: 8 }, (_, n) => note(`a${n}`, person('ada')));
    await expect(note('a', person('ada'))).rejects.toMatchObject(refusal);
    const bob = note('b', person('bob'));
    const guests = [note('g', guest('g1')), note('g', guest('g2'))];
    await expect(note('g', guest('g3'))).rejects.toMatchObject(refusal);
    const made = note('j', job);
    await release();
    await Promise.all([...ada, bob, ...guests, made]);
  });

  it('a shot whose callers have left does not run, and a large one stops at its next tile', async () => {
    const { queue, seen, note, release } = hold();
    const gone = new AbortController();
    const left = expect(note('left', person('ada', gone.signal))).rejects.toMatchObject({ code: 'caller-left' });
    const stays = note('stays', person());
    gone.abort();
    await left;
    await release();
    await stays;
    expect(seen).toEqual(['stays']);
    const later = new AbortController();
    let tiles = 0;
    const huge = queue.run(
      async (pause) => {
        for (; tiles < 9; tiles++) {
          await pause();
          if (tiles === 2) later.abort();
        }
      },
      { turn: person('ada', later.signal), effort: 2 },
    );
    await expect(huge).rejects.toMatchObject({ code: 'caller-left' });
    expect(tiles).toBe(3);
    // the queue goes on
    await note('after', person());
    expect(seen).toEqual(['stays', 'after']);
  });

  it('a shot rises when a person asks for what a guest waits for', async () => {
    const { seen, note, release } = hold();
    const shared = { rank: 'guest' as Turn['rank'], name: 'g' };
    const all = [note('job', job), note('shared', shared)];
    shared.rank = 'person';
    await release();
    await Promise.all(all);
    expect(seen).toEqual(['shared', 'job']);
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
