import { describe, expect, it } from 'vitest';
import type { JobAnswer, JobPicture } from '../../server/http/contracts/job.ts';
import { describeJob, describeTimeLeft } from '../../web/parts/jobs.ts';
import { createLatestPictures } from '../../web/parts/picture-job-model.ts';

// The wording is a matter of taste; these tests check that each sentence is true of its state.

const job = (more: Partial<JobAnswer>): JobAnswer => ({
  id: 'a',
  kind: 'pictures',
  product: 'P',
  state: 'running',
  done: 0,
  total: 1200,
  failed: 0,
  failures: [],
  request: {},
  ...more,
});

describe('the progress of a job', () => {
  it('reports that all pictures are done only when they are', () => {
    expect(describeJob(job({ state: 'done', done: 1200 }))).toBe('All 1,200 pictures are done.');
    expect(describeJob(job({ state: 'done', done: 1200, failed: 3 }))).toBe(
      '1,197 of 1,200 pictures are done; 3 failed.',
    );
    expect(describeJob(job({ state: 'failed', done: 1200, failed: 1200 }))).toBe('All 1,200 pictures failed.');
    expect(describeJob(job({ state: 'cancelled', done: 7 }))).toContain('after 7 of');
  });

  it('gives a time only when it is known', () => {
    expect(describeJob(job({ state: 'running' }))).not.toMatch(/left/);
    expect(describeJob(job({ state: 'running', done: 10, remainingMs: 150_000 }))).toContain('about 3 minutes left');
  });

  it.each([
    [0, 'a few seconds left'],
    [10_001, 'about 20 seconds left'],
    [50_000, 'about 50 seconds left'],
    [51_000, 'about 1 minute left'],
    [89_000, 'about 1 minute left'],
    [59 * 60_000, 'about 59 minutes left'],
    [62 * 60_000, 'about 1 hour left'],
    [135 * 60_000, 'about 2 hours 20 minutes left'],
    [179 * 60_000, 'about 3 hours left'],
  ])('%i ms are %s', (ms, words) => {
    expect(describeTimeLeft(ms)).toBe(words);
  });
});

describe('the latest pictures', () => {
  const picture = (part: number) => ({ part }) as JobPicture;
  const list = (from: number, end: number) => Array.from({ length: end - from }, (_, i) => picture(from + i));

  it('appear in order, two at a time, and replace older ones in place', () => {
    const latest = createLatestPictures();
    latest.add(list(0, 3));
    latest.showNext();
    expect(latest.shown.value.map(({ part }) => part)).toEqual([0, 1]);
    latest.showRest();
    expect(latest.shown.value.map(({ part }) => part)).toEqual([0, 1, 2]);
    latest.add(list(3, 13));
    latest.showRest();
    expect(latest.shown.value.map(({ part }) => part)).toEqual([12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]);
  });

  it('skip what arrives faster than it can be shown, and end with the last', () => {
    const latest = createLatestPictures();
    latest.add(list(0, 500));
    latest.showNext();
    latest.add(list(500, 1000));
    latest.showRest();
    const shown = latest.shown.value.map(({ part }) => part);
    expect(shown).toHaveLength(12);
    expect(Math.max(...shown)).toBe(999);
    latest.clear();
    expect(latest.shown.value).toEqual([]);
  });
});
