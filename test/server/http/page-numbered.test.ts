import { expect, it } from 'vitest';
import { pageNumbered } from '../../../server/http/page-numbered.ts';

const numberOf = (entry: number) => entry;

it('pages of numbered entries, newest first, lose and repeat nothing when a new entry comes in between', () => {
  const all = [5, 4, 3, 2, 1];
  const first = pageNumbered(all, numberOf, { limit: 2 });
  expect(first).toEqual({ page: [5, 4], rest: { next: 4 } });
  const second = pageNumbered([6, ...all], numberOf, { limit: 2, after: 4 });
  expect(second).toEqual({ page: [3, 2], rest: { next: 2 } });
  expect(pageNumbered(all, numberOf, { limit: 2, after: 2 })).toEqual({ page: [1], rest: {} });
  expect(pageNumbered(all, numberOf, {})).toEqual({ page: all, rest: {} });
});
