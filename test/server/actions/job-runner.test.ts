import { expect, it } from 'vitest';
import { JobRunner } from '../../../server/actions/job-runner.ts';
import { createPace } from '../../../server/actions/pace.ts';
import type { Job, JobStore } from '../../../server/core/ports/jobs.ts';

it('tells the time left by the pace of the last twenty parts', () => {
  let now = 0;
  const pace = createPace(() => now);
  expect(pace.estimate(10)).toBe(0);
  for (let part = 0; part < 30; part++) {
    // ten are found at once, the others take two seconds each
    now += part < 10 ? 0 : 2000;
    pace.tick();
  }
  expect(pace.estimate(5)).toBe(10_000);
});

it('says it of a job while it runs, and not of one that has ended', async () => {
  const kept = new Map<string, Job>();
  const store: JobStore = {
    add: async (job) => void kept.set(job.id, job),
    saveProgress: async (job) => void kept.set(job.id, job),
    get: async (id) => kept.get(id) ?? null,
    listOpen: async () => [],
  };
  let now = 0;
  const jobs = new JobRunner(store, undefined, () => now);
  await jobs.start(async () => {
    now += 500;
  });
  const seen: (number | undefined)[] = [];
  await jobs.add({ id: 'a', kind: 'pictures', product: 'P', total: 3, request: {} });
  for await (const job of jobs.watch('a', new AbortController().signal)) if (job.done > 0) seen.push(job.remainingMs);
  expect(seen.slice(-3)).toEqual([500, 0, undefined]);
  expect(kept.get('a')).toMatchObject({ state: 'done', done: 3 });
});
