import { expect, it } from 'vitest';
import { limitWork } from '../../renderer/limit-work.ts';

it('runs so many at once, lets so many wait, and refuses more', async () => {
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

it('hands a place on when work fails', async () => {
  const limit = limitWork(1, 1);
  await expect(limit(() => Promise.reject(new Error('no')))).rejects.toThrow('no');
  expect(await limit(async () => 1)).toBe(1);
});
