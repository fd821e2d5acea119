import { expect, it } from 'vitest';
import { Problem } from '../../../server/core/problems.ts';
import { offerCallbacks, useCallbacks } from '../../../server/threads/callbacks.ts';
import { expectRefusal } from '../../support/refusal.ts';

it('a task calls functions of whoever gave it, and gets what they answer or throw', async () => {
  const own = {
    double: async (n: number) => n * 2,
    refuse: async () => {
      throw new Problem('work-cancelled', { detail: 'It ended.' });
    },
    fail: async () => {
      throw Object.assign(new Error('no space'), { code: 'ENOSPC', syscall: 'write', path: 'file' });
    },
  };
  const { port, close } = offerCallbacks(own);
  const offered = useCallbacks<typeof own>(port, ['double', 'refuse', 'fail']);
  expect(await Promise.all([offered.double(1), offered.double(2)])).toEqual([2, 4]);
  await expectRefusal(() => offered.refuse(), 'work-cancelled');
  await expect(offered.fail()).rejects.toMatchObject({ code: 'ENOSPC', syscall: 'write' });
  const ended = new Promise<void>((resolve) => port.once('close', resolve));
  close();
  await ended;
});
