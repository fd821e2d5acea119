import { expect, it } from 'vitest';
import { planScheduleImport } from '../../../web/pages/product/schedule/grid/schedule-csv.ts';
import { makeDraft, SLOTS } from './make-draft.ts';

it('lists the rows of a file that repeat a code', () => {
  const text = 'code,name\nA,Anna\na,Other\nE,Eve\n\nE,Emma\n';
  const plan = planScheduleImport(makeDraft('A Ann OAK INK'), text, SLOTS, () => null);
  expect(plan.repeated.map(([, code]) => code)).toEqual(['a', 'E']);
  expect(plan.repeated[0]).toEqual([3, 'a']);
  expect(plan.draft.rows.map(({ name }) => name)).toEqual(['Anna', 'Eve']);
});
