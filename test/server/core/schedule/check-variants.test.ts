import { describe, expect, it } from 'vitest';
import type { RangedFinish } from '../../../../server/core/line/line.ts';
import { listMisnamed } from '../../../../server/core/schedule/check-names.ts';
import { checkVariants } from '../../../../server/core/schedule/check-variants.ts';
import { makePattern } from '../../../../server/core/schedule/name-rows.ts';
import { applyTemplate } from '../../../../server/core/schedule/row-template.ts';
import type { Schedule } from '../../../../server/core/schedule/schedule.ts';
import { finish } from '../../../../server/core/slices.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeRuledSlots } from '../../../support/rules.ts';

// finishes and names of a range as in printed lists: common practice
const RANGE = [
  makeFinish('OAK-1', { name: 'Oak' }),
  makeFinish('OAK-2', { name: 'Oak, smoked', names: { de: 'Räuchereiche' } }),
  makeFinish('LIN-7', { name: 'Grey linen' }),
  makeFinish('PC-9', { name: 'Linen white' }),
];
const SLOTS = makeRuledSlots('seat', 'piping');
const FINISHES = byFoldedCode(RANGE);
const RANGED = RANGE.map((finish): RangedFinish => ({ finish, grade: null, status: 'current' }));

type Row = [code: string, name: string, seat: string, piping: string];

const scheduleOf = (...rows: Row[]): Schedule => ({
  default: rows[0]![0],
  variants: rows.map(([code, name, seat, piping]) => ({ code, name, choices: { seat, piping } })),
});
const check = (...rows: Row[]) => finish(checkVariants(scheduleOf(...rows), SLOTS, FINISHES, RANGED));
const listWrong = (...rows: Row[]) =>
  finish(listMisnamed(scheduleOf(...rows), SLOTS, FINISHES, RANGED)).map(({ variant, says }) => [variant, says]);

describe('variants with the same choices', () => {
  it('are one finding with every group, whatever the case of the codes', () => {
    const [finding, ...others] = check(
      ['A', 'First', 'OAK-1', 'PC-9'],
      ['B', 'Second', 'oak-1', 'PC-9'],
      ['C', 'Third', 'OAK-2', 'PC-9'],
      ['D', 'Fourth', 'OAK-2', 'PC-9'],
      ['E', 'Fifth', 'OAK-2', 'LIN-7'],
    );
    expect(others).toEqual([]);
    expect(finding).toMatchObject({
      code: 'same-choices',
      severity: 'warning',
      seen: [
        ['A', 'B'],
        ['C', 'D'],
      ],
    });
  });

  it('are compared by slots that change: a choice on a fixed slot makes no difference', () => {
    const slots = SLOTS.map((slot) => ({ ...slot, fixed: slot.slot === 'piping' }));
    const rows = scheduleOf(['A', 'First', 'OAK-1', 'PC-9'], ['B', 'Second', 'OAK-1', 'LIN-7']);
    expect(finish(checkVariants(rows, slots, FINISHES, RANGED)).map(({ code }) => code)).toEqual(['same-choices']);
    expect(finish(checkVariants(rows, SLOTS, FINISHES, RANGED))).toEqual([]);
  });
});

describe('a variant named after a finish it does not have', () => {
  it('is found by name, by translation and by code', () => {
    expect(
      listWrong(
        ['A', 'Grey linen / Oak', 'OAK-1', 'PC-9'],
        ['B', 'Räuchereiche, hell', 'OAK-1', 'PC-9'],
        ['C-LIN-7', 'Third', 'OAK-1', 'PC-9'],
      ),
    ).toEqual([
      ['A', 'Grey linen (LIN-7)'],
      ['B', 'Oak, smoked (OAK-2)'],
      ['C-LIN-7', 'Grey linen (LIN-7)'],
    ]);
  });

  it('is not found where the words are those of a finish it has', () => {
    // the longest name counts: “Oak, smoked” is not “Oak”; nor does a single word of a longer name mean another finish
    expect(
      listWrong(
        ['A', 'Oak, smoked / Linen white', 'OAK-2', 'PC-9'],
        ['B', 'Oak', 'OAK-2', 'LIN-7'],
        ['C', 'Oakland', 'LIN-7', 'LIN-7'],
        ['D', 'Smoked', 'LIN-7', 'PC-9'],
      ),
    ).toEqual([]);
  });

  it('gets its name by the template; the other variants keep theirs', () => {
    const schedule = scheduleOf(
      ['A', 'Grey linen / Oak', 'OAK-1', 'PC-9'],
      ['B', 'Oak / Linen white', 'OAK-2', 'LIN-7'],
    );
    const pattern = makePattern(['seat', 'piping']);
    const rows = finish(applyTemplate(schedule, ['seat', 'piping'], FINISHES, { name: pattern }, new Set(['a'])));
    // unlike the name of B, which happens to look the same
    expect(rows.map(({ name }) => name)).toEqual(['Oak / Linen white 2', 'Oak / Linen white']);
    const renamed = { ...schedule, variants: rows };
    expect(finish(listMisnamed(renamed, SLOTS, FINISHES, RANGED)).map(({ variant }) => variant)).toEqual(['B']);
  });
});
