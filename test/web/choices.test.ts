import { describe, expect, it } from 'vitest';
import type { Rule } from '../../server/core/line/line.ts';
import type { SlotAnswer } from '../../server/http/contracts/product.ts';
import { readCount } from '../../web/format.ts';
import { toScope } from '../../web/pages/product/schedule/choices-model.ts';
import { countExpansion } from '../../web/pages/product/schedule/count-expansion.ts';
import { commonTexts } from '../../web/texts/common.ts';
import { scheduleTexts } from '../../web/texts/product-schedule.ts';
import { makeRuledLine, makeRuledSlots, makeScope } from '../support/rules.ts';

// The product page counts these itself. Sizes by hand: three seats, three pipings, three legs, two cords.

const FOLLOWS: Rule = { when: { position: 'legs' }, companion: { position: 'cord' } };
const counts = (scope: ReturnType<typeof makeScope>, slots: string[], byDefault = {}) =>
  countExpansion(scope, new Set(slots), byDefault);

describe('expanding some of the slots', () => {
  it('counts only the combinations that the rules allow', () => {
    const scope = makeScope([FOLLOWS]);
    expect(counts(scope, ['legs', 'cord'])).toEqual({ count: 5n, exact: true });
    expect(counts(scope, ['seat', 'legs', 'cord'])).toEqual({ count: 15n, exact: true });
    expect(counts(scope, [])).toEqual({ count: 0n, exact: true });
  });

  it('respects the finishes of the default variant in the other slots', () => {
    const scope = makeScope([FOLLOWS]);
    expect(counts(scope, ['cord'], { legs: 'BLACK' })).toEqual({ count: 1n, exact: true });
    expect(counts(scope, ['cord'], { legs: 'OAK' })).toEqual({ count: 2n, exact: true });
    expect(counts(scope, ['legs'], { cord: 'FLAX' })).toEqual({ count: 2n, exact: true });
  });

  it('leaves out finishes that are not on sale', () => {
    const line = makeRuledLine([]);
    const statuses = ['current', 'phase-out', 'planned', 'discontinued'] as const;
    const range = line.range.map((entry, at) => ({ ...entry, status: statuses[at % 4]! }));
    // of FELT, LOOP and HIDE the first two are sold
    expect(counts(makeScope([], { line: { ...line, range } }), ['seat'])).toEqual({ count: 2n, exact: true });
  });

  it('reads the slots of the service, without fixed and absent ones', () => {
    const answers = makeRuledSlots('seat', 'legs').map((slot, at) => ({ ...slot, primitives: at }));
    const { line, finishes } = makeScope([]);
    const scope = toScope(line, answers as unknown as SlotAnswer[], finishes as never, []);
    expect(scope.slots.map(({ primitives }) => primitives.length)).toEqual([0, 1]);
    expect(counts(scope, ['legs'])).toEqual({ count: 3n, exact: true });
  });
});

describe('descriptions of counts', () => {
  it('show all digits of large counts, and bounds as a range', () => {
    expect(commonTexts.combinations(readCount({ count: '90071992547409930', exact: true }))).toBe(
      '90,071,992,547,409,930 combinations',
    );
    expect(commonTexts.combinations(readCount({ count: 1, exact: true }))).toBe('1 combination');
    expect(commonTexts.combinations(readCount({ count: 0, exact: true }))).toBe('no combinations');
    expect(commonTexts.combinations(readCount({ lower: 10, upper: '20', exact: false }))).toBe('10–20 combinations');
  });

  it('state how many variants a check set adds, which exist, and which finishes it cannot show', () => {
    const set = { added: 5, standing: 0, finishes: 7, impossible: 0, unsettled: 0, bound: 5 };
    expect(scheduleTexts.checkSet('each-finish', set)).toBe(
      'Adds 5 variants that show all 7 finishes. This is the smallest possible number.',
    );
    expect(scheduleTexts.checkSet('each-finish', { ...set, added: 6 })).toContain(
      'Without rules, the smallest possible number is 5.',
    );
    expect(scheduleTexts.checkSet('each-finish', { ...set, added: 0, standing: 5 })).toBe(
      'The schedule already shows all 7 finishes.',
    );
    expect(
      scheduleTexts.checkSet('pairs', { added: 1, standing: 9, pairs: 20, impossible: 3, unsettled: 1, bound: 10 }),
    ).toBe(
      'Adds 1 variant to 9 existing ones. Together they show all 20 allowed pairs. 3 pairs have no valid combination and are left out. For 1 of them, the search stopped early.',
    );
  });
});
