import { expect, it } from 'vitest';
import { listRenamed } from '../../../server/actions/deliver.ts';
import { planMappingsSliced } from '../../../server/core/delivery/mapping-plan.ts';
import { packEntries } from '../../../server/core/line/packed-scope.ts';
import { listMisnamed } from '../../../server/core/schedule/check-names.ts';
import { packRowsSliced } from '../../../server/core/schedule/packed-rows.ts';
import { applyTemplate } from '../../../server/core/schedule/row-template.ts';
import { checkScheduleSliced } from '../../../server/core/schedule/schedule.ts';
import { SLICE, type Sliced } from '../../../server/core/slices.ts';
import { makeSlot, makeSurvey } from '../../support/make-survey.ts';

const ROWS = 20_000;
const long = {
  default: 'V0',
  variants: Array.from({ length: ROWS }, (_, i) => ({ code: `V${i}`, name: `Row ${i}`, choices: { seat: 'OAK' } })),
};
const finishes = new Map([
  ['oak', { finish: 'OAK', name: 'Oak', family: 'wood' as const, colour: { hex: '#aa8866' } }],
]);

function countPauses(work: Sliced<unknown>): number {
  for (let pauses = 0; ; pauses++) if (work.next().done) return pauses;
}

it.each([
  ['the check of a schedule', () => checkScheduleSliced(long, [makeSlot('seat')], finishes)],
  ['packing its rows', () => packRowsSliced(long)],
  ['renaming its rows', () => applyTemplate(long, ['seat'], finishes, { name: '{seat}' }, new Set(['v1']))],
  [
    'planning a delivery',
    () => planMappingsSliced(makeSurvey(['seat'], [[{ material: 0 }]]), [makeSlot('seat')], long),
  ],
  [
    'looking for names that a delivery changes',
    () => listRenamed({ ...long, names: 'name', delivery: 1 }, long, 'name'),
  ],
  [
    'packing a library for a thread',
    () =>
      packEntries(
        long.variants.map((row) => [row.code, row]),
        (row) => row,
      ),
  ],
  ['looking for wrong names', () => listMisnamed(long, [makeSlot('seat')], finishes, [])],
])('%s pauses at least once in every five hundred rows', (_, begin) => {
  expect(SLICE).toBeLessThanOrEqual(500);
  expect(countPauses(begin())).toBeGreaterThanOrEqual(ROWS / SLICE - 1);
});
