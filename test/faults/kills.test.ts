import { expect, it } from 'vitest';
import { ACTIONS, runKills } from './kill-service.ts';

// `npm run faults` is the long form.

// starts a service thirty times: a limit against hanging, also on a busy machine
it('a service that is killed in the middle of an action has done all of it or none, also after a power cut', {
  timeout: 900_000,
}, async () => {
  const { outcomes, faults } = await runKills({ atRandom: 0, atSteps: 1, seed: 1 });
  expect(faults).toEqual([]);
  expect(Object.values(outcomes).reduce((sum, { kills }) => sum + kills, 0)).toBe(Object.keys(ACTIONS).length);
});

it('finds the loss when nothing is synced', async () => {
  const { faults } = await runKills({ atRandom: 0, atSteps: 1, seed: 1, actions: ['delivery'], ignoreSyncs: true });
  expect(faults.join('\n')).toMatch(/missing-file|damaged-file/);
});
