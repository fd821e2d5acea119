import { describe, expect, it } from 'vitest';
import type { Finish } from '../../../../server/core/finish/finish.ts';
import type { Rule } from '../../../../server/core/line/line.ts';
import { compileRules } from '../../../../server/core/line/rules.ts';
import { deriveSlots } from '../../../../server/core/product/slot.ts';
import { type Column, expandSchedule } from '../../../../server/core/schedule/expand-schedule.ts';
import { listBreaches } from '../../../../server/core/schedule/rule-effects.ts';
import { checkSchedule, type Schedule } from '../../../../server/core/schedule/schedule.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSlot, makeSurvey } from '../../../support/make-survey.ts';
import { createRandom } from '../../../support/random.ts';
import { expectRefusal } from '../../../support/refusal.ts';
import { makeRuledSlots, makeScope } from '../../../support/rules.ts';

const column = (slot: string, ...codes: string[]): Column => ({
  slot,
  finishes: codes.map((code) => makeFinish(code)),
});
const many = (n: number, start = 'F') => Array.from({ length: n }, (_, i) => `${start}${i}`);
const choicesOf = (schedule: Schedule) => schedule.variants.map(({ choices }) => choices);

const STANDING: Schedule = {
  default: 'KEEP',
  variants: [
    { code: 'KEEP', name: 'Kept', choices: { seat: 'ASH', legs: 'BLK', cord: 'RED' } },
    { code: 'OTHER', name: 'Other', choices: { seat: 'OAK', legs: 'WHT', cord: 'RED' } },
  ],
};

describe('expanding a schedule', () => {
  it('adds every combination; the last slot changes fastest', () => {
    const { schedule, added, total } = expandSchedule(
      null,
      [column('seat', 'OAK', 'ASH'), column('legs', 'BLK', 'WHT')],
      undefined,
    );
    expect(choicesOf(schedule)).toEqual([
      { seat: 'OAK', legs: 'BLK' },
      { seat: 'OAK', legs: 'WHT' },
      { seat: 'ASH', legs: 'BLK' },
      { seat: 'ASH', legs: 'WHT' },
    ]);
    expect([added, total]).toEqual([4, 4]);
    expect(schedule.default).toBe(schedule.variants[0]!.code);
  });

  // contract: “every combination that options and rules allow, added after the ones that stand”
  it('keeps existing rows first and unchanged, and does not repeat their combinations', () => {
    const columns = [column('seat', 'OAK', 'ASH'), column('legs', 'BLK', 'WHT')];
    const { schedule, added } = expandSchedule(STANDING, columns, undefined);
    expect(schedule.variants.slice(0, 2)).toEqual(STANDING.variants);
    expect(schedule.default).toBe('KEEP');
    expect(added).toBe(2);
    expect(choicesOf(schedule).slice(2)).toEqual([
      { seat: 'OAK', legs: 'BLK', cord: 'RED' },
      { seat: 'ASH', legs: 'WHT', cord: 'RED' },
    ]);
    expect(expandSchedule(schedule, columns, undefined).added).toBe(0);
  });

  it('fills the names of finishes into the name', () => {
    const { schedule } = expandSchedule(
      null,
      [
        { slot: 'seat', finishes: [makeFinish('OAK', { name: 'Oak' })] },
        { slot: 'legs', finishes: [makeFinish('BLK', { name: 'Black' })] },
      ],
      '{seat} / {legs}',
    );
    expect(schedule.variants[0]!.name).toBe('Oak / Black');
  });

  // building 20^30 variants would take forever: an answer shows that they were only counted
  it('counts before it builds, and is refused over the limit with the count', async () => {
    const columns = Array.from({ length: 30 }, (_, i) => column(`slot-${i}`, ...many(20)));
    const problem = await expectRefusal(() => expandSchedule(null, columns, undefined, 500), 'too-many-variants');
    expect(problem.more.expected).toBe(500);
    expect(String(problem.more.received)).toBe(String(20n ** 30n));
  });

  it('accepts exactly the limit, including existing rows, and not one more', async () => {
    const columns = [column('seat', ...many(10)), column('legs', ...many(10, 'G'))];
    expect(expandSchedule(null, columns, undefined, 100).total).toBe(100);
    const over = await expectRefusal(() => expandSchedule(null, columns, undefined, 99), 'too-many-variants');
    expect(over.more.received).toBe(100);
    expect(expandSchedule(STANDING, columns, undefined, 102).total).toBe(102);
    const withRows = await expectRefusal(() => expandSchedule(STANDING, columns, undefined, 101), 'too-many-variants');
    expect(withRows.more.received).toBe(102);
  });

  it('is refused without a column, or with a column without finishes', async () => {
    await expectRefusal(() => expandSchedule(null, [], undefined), 'nothing-to-expand');
    const problem = await expectRefusal(
      () => expandSchedule(null, [column('seat', 'OAK'), column('legs')], undefined),
      'nothing-to-expand',
    );
    expect(problem.message).toContain('legs');
  });

  it('always makes valid rows: codes and names in form, none twice, every combination once', () => {
    const random = createRandom(99);
    for (let round = 0; round < 60; round++) {
      const slots = Array.from({ length: 1 + random.whole(3) }, (_, i) => makeSlot(`slot-${i}`));
      // long codes, and names that are all the same, reach the limits of both
      const finishes = Array.from({ length: 1 + random.whole(4) }, (_, i) =>
        makeFinish(`F${i}${'x'.repeat(random.whole(62))}`, {
          name: random.whole(2) ? 'Same' : '\u{1f6cb}'.repeat(1 + random.whole(120)),
        }),
      );
      const columns = slots.map(({ slot }) => ({ slot, finishes }));
      const { schedule, total } = expandSchedule(null, columns, random.whole(2) ? 'x{slot-0}{slot-0}' : undefined);
      expect(total).toBe(finishes.length ** slots.length);
      expect(checkSchedule(schedule, slots, byFoldedCode(finishes))).toEqual(schedule);
      expect(new Set(schedule.variants.map(({ choices }) => JSON.stringify(choices))).size).toBe(total);
    }
  });

  // names are Unicode; half of a surrogate pair is not a character
  it('does not cut a name in the middle of a character', () => {
    const sofas = makeFinish('SOFA', { name: `x${'\u{1f6cb}'.repeat(119)}` });
    const { schedule } = expandSchedule(null, [{ slot: 'seat', finishes: [sofas] }], undefined);
    expect(schedule.variants[0]!.name).not.toMatch(/\p{Surrogate}/u);
  });

  it('makes names that differ from existing ones in their stored form, without white space around them', () => {
    const standing: Schedule = { default: 'A', variants: [{ code: 'A', name: 'Oak', choices: {} }] };
    const oak = makeFinish('OAK', { name: 'Oak' });
    const { schedule } = expandSchedule(standing, [{ slot: 'seat', finishes: [oak] }], '{seat} ');
    expect(checkSchedule(schedule, [makeSlot('seat')], byFoldedCode([oak])).variants).toHaveLength(2);
  });

  it('tells slots with long and similar keys apart', () => {
    const long = `Fabric ${'of a long name '.repeat(8)}`;
    const slots = deriveSlots(makeSurvey([long, long], [[{ material: 0 }, { material: 1 }]]), []);
    const columns = slots.map(({ slot }) => column(slot, 'OAK', 'ASH'));
    expect(expandSchedule(null, columns, undefined).added).toBe(4);
  });
});

// contract: “every combination that options and rules allow, added after the ones that stand”
/** Rules of a line with a position for each key, and a slot on each. */
const compileFor = (keys: readonly string[], finishes: readonly Finish[], rules: Rule[]) =>
  compileRules({
    slots: makeRuledSlots(...keys),
    line: {
      line: 'L',
      name: 'L',
      positions: keys.map((position) => ({ position, label: position })),
      range: [],
      rules,
    },
    finishes: byFoldedCode(finishes),
  });

const SEAT = column('seat', 'FELT', 'LOOP', 'HIDE');
const PIPING = column('piping', 'FELT', 'LOOP', 'HIDE');
const SAME: Rule = { when: { position: 'seat', family: 'leather' }, sameAs: { position: 'piping' } };
const THICK: Rule = { when: { position: 'seat', tag: 'thick' }, excludes: { position: 'piping', tag: 'thick' } };

describe('expanding by rules', () => {
  it('adds the combinations that they allow and nothing else', () => {
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

  it('binds the columns by the default variant’s choices in other slots', () => {
    const standing: Schedule = {
      default: 'A',
      variants: [{ code: 'A', name: 'A', choices: { seat: 'FELT', piping: 'LOOP' } }],
    };
    const { schedule } = expandSchedule(standing, [SEAT], undefined, 100, compileRules(makeScope([SAME, THICK])));
    // LOOP is too thick beside LOOP, and HIDE is piped with HIDE only
    expect(schedule.variants).toEqual(standing.variants);
  });

  it('is refused with the count of valid combinations over the limit, not of all', async () => {
    const keys = ['seat', 'piping'];
    const finishes = Array.from({ length: 40 }, (_, i) => makeFinish(`F${i}`));
    const rules = compileFor(keys, finishes, [{ when: { position: 'seat' }, sameAs: { position: 'piping' } }]);
    const columns = keys.map((slot) => ({ slot, finishes }));
    // 1,600 combinations, 40 of which have the same finish twice
    expect(expandSchedule(null, columns, undefined, 40, rules).added).toBe(40);
    const problem = await expectRefusal(() => expandSchedule(null, columns, undefined, 39, rules), 'too-many-variants');
    expect(problem.more.received).toBe(40);
  });

  // 40^12 combinations cannot be listed: an answer shows that the search leaves dead ends early
  it('finds the few valid ones among very many', () => {
    const keys = Array.from({ length: 12 }, (_, i) => `p${i}`);
    const finishes = Array.from({ length: 40 }, (_, i) => makeFinish(`F${i}`));
    const rules = compileFor(
      keys,
      finishes,
      keys.slice(1).map((position) => ({ when: { position: 'p0' }, sameAs: { position } })),
    );
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
