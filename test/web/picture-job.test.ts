import { describe, expect, it } from 'vitest';
import type { ArrivedPicture, JobAnswer } from '../../server/http/picture-answers.ts';
import { createPlaces } from '../../web/parts/picture-job/places.ts';
import { sayJob, sayRemaining } from '../../web/parts/picture-job/say-job.ts';

// What a job of pictures says and shows. The words are judgement; what is held is that they are true of every state.

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

describe('a job in words', () => {
  it('claims that all were made only where all were', () => {
    expect(sayJob(job({ state: 'done', done: 1200 }))).toContain('all made');
    expect(sayJob(job({ state: 'done', done: 1200, failed: 3 }))).toBe(
      '1\u2009197 of 1\u2009200 pictures made; 3 did not come out.',
    );
    expect(sayJob(job({ state: 'failed', done: 1200, failed: 1200 }))).toBe('None of 1\u2009200 pictures came out.');
    expect(sayJob(job({ state: 'cancelled', done: 7 }))).toContain('after 7 of');
  });

  it('names a time only where one is known', () => {
    expect(sayJob(job({ state: 'running' }))).not.toMatch(/left/);
    expect(sayJob(job({ state: 'running', done: 10, remainingMs: 150_000 }))).toContain('about 3 minutes left');
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
    expect(sayRemaining(ms)).toBe(words);
  });
});

describe('the places of the latest pictures', () => {
  const picture = (part: number) => ({ part }) as ArrivedPicture;
  const list = (from: number, end: number) => Array.from({ length: end - from }, (_, i) => picture(from + i));

  it('are filled in order, two at a time, and then change where they stand', () => {
    const places = createPlaces();
    places.add(list(0, 3));
    places.show();
    expect(places.shown.value.map(({ part }) => part)).toEqual([0, 1]);
    places.settle();
    expect(places.shown.value.map(({ part }) => part)).toEqual([0, 1, 2]);
    places.add(list(3, 13));
    places.settle();
    expect(places.shown.value.map(({ part }) => part)).toEqual([12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]);
  });

  it('pass over what comes faster than it is shown, and end on the last', () => {
    const places = createPlaces();
    places.add(list(0, 500));
    places.show();
    places.add(list(500, 1000));
    places.settle();
    const shown = places.shown.value.map(({ part }) => part);
    expect(shown).toHaveLength(12);
    expect(Math.max(...shown)).toBe(999);
    places.clear();
    expect(places.shown.value).toEqual([]);
  });
});
