import { describe, expect, it } from 'vitest';
import { compileRules } from '../../../../server/core/line/compile-rules.ts';
import type { Rule } from '../../../../server/core/line/line.ts';
import { type Column, expandSchedule } from '../../../../server/core/schedule/expand-schedule.ts';
import { listBreaches } from '../../../../server/core/schedule/rule-effects.ts';
import type { Schedule } from '../../../../server/core/schedule/schedule.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { expectRefusal } from '../../../support/refusal.ts';
import { makeRuledSlots, makeScope } from '../../../support/rules.ts';

// contract: “every combination that options and rules allow, added after the ones that stand”
const column = (slot: string, ...codes: string[]): Column => ({
  slot,
  finishes: codes.map((code) => makeFinish(code)),
});
const SEAT = column('seat', 'FELT', 'LOOP', 'HIDE');
const PIPING = column('piping', 'FELT', 'LOOP', 'HIDE');
const SAME: Rule = { when: { position: 'seat', family: 'leather' }, sameAs: { position: 'piping' } };
const THICK: Rule = { when: { position: 'seat', tag: 'thick' }, excludes: { position: 'piping', tag: 'thick' } };

describe('expanding by rules', () => {
  it('adds what they allow and nothing else', () => {
    const { schedule, added } = expandSchedule(
      null,
      [SEAT, PIPING],
      undefined,
      100,
      compileRules(makeScope([SAME, THICK])),
    );
    expect(schedule.variants.map(({ choices }) => `${choices.seat} ${choices.piping}`)).toEqual([
      'FELT FELT',
      'FELT LOOP',
      'FELT HIDE',
      'LOOP FELT',
      'LOOP HIDE',
      'HIDE HIDE',
    ]);
    expect(added).toBe(6);
  });

  it('binds the columns by what the default variant has in other slots', () => {
    const standing: Schedule = {
      default: 'A',
      variants: [{ code: 'A', name: 'A', choices: { seat: 'FELT', piping: 'LOOP' } }],
    };
    const { schedule } = expandSchedule(standing, [SEAT], undefined, 100, compileRules(makeScope([SAME, THICK])));
    // LOOP is too thick beside LOOP, and HIDE is piped with HIDE only
    expect(schedule.variants).toEqual(standing.variants);
  });

  it('is refused with the count of valid ones over the limit, not of all', async () => {
    const keys = ['seat', 'piping'];
    const finishes = Array.from({ length: 40 }, (_, i) => makeFinish(`F${i}`));
    const rules = compileRules({
      slots: makeRuledSlots(...keys),
      line: {
        line: 'L',
        name: 'L',
        positions: keys.map((position) => ({ position, label: position })),
        range: [],
        rules: [{ when: { position: 'seat' }, sameAs: { position: 'piping' } }],
      },
      finishes: byFoldedCode(finishes),
    });
    const columns = keys.map((slot) => ({ slot, finishes }));
    // 1,600 combinations, of which 40 are the same twice
    expect(expandSchedule(null, columns, undefined, 40, rules).added).toBe(40);
    const problem = await expectRefusal(() => expandSchedule(null, columns, undefined, 39, rules), 'too-many-variants');
    expect(problem.more.received).toBe(40);
  });

  // 40^12 combinations cannot be gone through: that the answer comes shows that ways are left early
  it('finds the few valid ones among very many', () => {
    const keys = Array.from({ length: 12 }, (_, i) => `p${i}`);
    const finishes = Array.from({ length: 40 }, (_, i) => makeFinish(`F${i}`));
    const rules = compileRules({
      slots: makeRuledSlots(...keys),
      line: {
        line: 'L',
        name: 'L',
        positions: keys.map((position) => ({ position, label: position })),
        range: [],
        rules: keys.slice(1).map((position) => ({ when: { position: 'p0' }, sameAs: { position } })),
      },
      finishes: byFoldedCode(finishes),
    });
    const columns = keys.map((slot) => ({ slot, finishes }));
    const { schedule, added } = expandSchedule(null, columns, undefined, 500, rules);
    expect(added).toBe(40);
    for (const { choices } of schedule.variants) expect(listBreaches(choices, rules)).toEqual([]);
  });

  it('is refused when nothing is left', async () => {
    const rules = compileRules(
      makeScope([SAME, { when: { position: 'seat' }, excludes: { position: 'piping', family: 'leather' } }]),
    );
    await expectRefusal(
      () => expandSchedule(null, [column('seat', 'HIDE'), PIPING], undefined, 100, rules),
      'nothing-to-expand',
    );
  });
});
