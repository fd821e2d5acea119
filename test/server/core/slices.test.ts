import { expect, it } from 'vitest';
import { listRenamed } from '../../../server/actions/deliver.ts';
import { listColourMaps } from '../../../server/actions/finish-maps.ts';
import { recallSliced } from '../../../server/actions/import-finishes.ts';
import { indexSliced } from '../../../server/actions/load-finishes.ts';
import { planMappingsSliced } from '../../../server/core/delivery/mapping-plan.ts';
import type { StoredFinish } from '../../../server/core/finish/finish.ts';
import { describeHistorySliced } from '../../../server/core/history/history.ts';
import { packEntries } from '../../../server/core/line/packed-scope.ts';
import { listMisnamed } from '../../../server/core/schedule/check-names.ts';
import { packRowsSliced } from '../../../server/core/schedule/packed-rows.ts';
import { applyTemplate } from '../../../server/core/schedule/row-template.ts';
import { checkScheduleSliced } from '../../../server/core/schedule/schedule.ts';
import { finish, SLICE, type Sliced } from '../../../server/core/slices.ts';
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

const library: readonly StoredFinish[] = Array.from({ length: ROWS }, (_, i) => ({
  finish: `F${i}`,
  name: 'A',
  family: 'paint' as const,
  revision: 1,
  colour: { hex: '#aa8866' },
}));
const byCode = new Map(library.map((finish) => [finish.finish.toLowerCase(), finish]));

it.each([
  ['indexing a library', () => indexSliced(library)],
  ['looking for its colour maps', () => listColourMaps(library, new Map())],
  [
    'recalling the finishes of a file',
    () => recallSliced({ byCode, articles: new Map(), recallCodes: () => null }, [...byCode.keys()]),
  ],
])('%s pauses at least once in every thousand finishes', (_, begin) => {
  expect(countPauses(begin())).toBeGreaterThanOrEqual(ROWS / 1000 - 1);
});

it('recalling the finishes of a file resolves none of them', () => {
  const resolve = () => {
    throw new Error('resolved');
  };
  const files = { byCode, articles: new Map(), recallCodes: () => null, resolve };
  expect(finish(recallSliced(files, ['f1', 'F1', 'none', 'F2'])).finishes).toEqual([library[1], library[2]]);
});

it('a history is compared in slices, with a pause at least in every hundred revisions', () => {
  const at = '2031-05-06T07:08:09.000Z';
  const history = library.slice(0, 3000).map(({ revision: _, ...definition }, i) => ({
    ...{ revision: i + 1, at, person: null, what: 'saved' as const, definition, articleRevision: null },
  }));
  expect(countPauses(describeHistorySliced(history))).toBeGreaterThanOrEqual(3000 / 100 - 1);
});
