import { describe, expect, it } from 'vitest';
import { explainConflict } from '../../../../server/core/combinations/explain-conflict.ts';
import type { Rule } from '../../../../server/core/line/line.ts';
import { makeChoiceGuide } from '../../../../server/core/schedule/guide-choices.ts';
import { makePairTable } from '../../../../server/core/schedule/rule-effects.ts';
import { makeRuledLine, makeRuledSlots, makeScope } from '../../../support/rules.ts';

// The tests compare the possible finishes with the explanation of conflicts over the whole table, which has tests of
// its own; the words are judgement.

const PIPED: Rule = { when: { position: 'seat', family: 'leather' }, sameAs: { position: 'piping' } };
const NO_BRASS: Rule = { when: { position: 'seat', tag: 'thick' }, excludes: { position: 'legs', finish: 'BRASS' } };
const FOLLOWS: Rule = { when: { position: 'legs' }, companion: { position: 'cord' } };
const RULES = [PIPED, NO_BRASS, FOLLOWS];
const guide = makeChoiceGuide(makeScope(RULES));
const FULL = { seat: 'FELT', piping: 'LOOP', legs: 'OAK', cord: 'FLAX' };

describe('a row', () => {
  it('has no objection where its choices go together', () => {
    expect(guide.explainRow(FULL)).toEqual([]);
    expect(guide.explainRow({})).toEqual([]);
  });

  it('names the two incompatible finishes, the rule, and the finish that would follow', () => {
    expect(guide.explainRow({ ...FULL, legs: 'black' })).toEqual([
      {
        slots: ['legs', 'cord'],
        message:
          'legs black and cord FLAX cannot be combined: “The cord” has the companion of the finish on “The legs”.',
        follow: { slot: 'cord', finish: 'RAVEN' },
      },
    ]);
    const two = guide.explainRow({ ...FULL, seat: 'HIDE', legs: 'BLACK' });
    expect(two.map(({ slots }) => slots)).toEqual([
      ['seat', 'piping'],
      ['legs', 'cord'],
    ]);
  });

  it('is told to conflict at once where the explanation says why, in any spelling', () => {
    const rows: Record<string, string>[] = [
      FULL,
      {},
      { seat: 'HIDE' },
      { ...FULL, legs: 'black' },
      { ...FULL, seat: 'HIDE' },
      { ...FULL, legs: 'ELM' },
    ];
    for (const row of rows) {
      const isComplete = Object.keys(row).length === Object.keys(FULL).length;
      if (isComplete) expect(guide.hasConflict(row)).toBe(guide.explainRow(row).length > 0);
      else expect(guide.hasConflict(row)).toBe(false);
    }
    expect(rows.map((row) => guide.hasConflict(row))).toEqual([false, false, false, true, true, true]);
  });

  it('offers no companion that is not an option', () => {
    const line = makeRuledLine(RULES);
    const positions = line.positions.map((each) =>
      each.position === 'cord' ? { ...each, options: { finishes: ['FLAX'] } } : each,
    );
    const without = makeChoiceGuide(makeScope(RULES, { line: { ...line, positions } }));
    const [objection] = without.explainRow({ ...FULL, legs: 'BLACK' });
    expect(objection).not.toHaveProperty('follow');
    const open = without.explainRow({ seat: 'FELT', legs: 'BLACK' });
    expect(open).toEqual([
      { slots: ['legs', 'cord'], message: 'No finish is left for cord because legs BLACK excludes its only finish.' },
    ]);
  });

  it('names finishes that are no longer options, or are discontinued', () => {
    const line = makeRuledLine([], {
      range: makeRuledLine([]).range.map((entry) =>
        entry.finish === 'OAK' ? { ...entry, status: 'discontinued' as const, replacedBy: 'BRASS' } : entry,
      ),
    });
    const messages = makeChoiceGuide(makeScope([], { line }))
      .explainRow({ ...FULL, seat: 'OAK' })
      .map(({ message }) => message);
    expect(messages).toEqual(['OAK is not among the options of seat.', 'legs OAK is discontinued. BRASS replaces it.']);
  });
});

describe('the finishes of a slot', () => {
  it('are forbidden with the reason, given the other choices', () => {
    expect([...guide.listForbidden({ ...FULL, seat: 'LOOP' }, 'legs')]).toEqual([
      ['BRASS', 'not with seat LOOP: “The seat” in anything tagged “thick” never goes with “The legs” in BRASS'],
      ['BLACK', 'not with cord FLAX: “The cord” has the companion of the finish on “The legs”'],
    ]);
    expect(guide.listForbidden(FULL, 'nowhere').size).toBe(0);
  });

  it('are also forbidden where they would leave another slot empty', () => {
    // BLACK asks for RAVEN, RAVEN for wood, which leaves no cord with BLACK
    const only: Rule = { when: { position: 'cord', finish: 'RAVEN' }, requires: { position: 'legs', family: 'wood' } };
    const strict = makeChoiceGuide(makeScope([FOLLOWS, only]));
    const forbidden = strict.listForbidden({ seat: 'FELT', piping: 'FELT' }, 'legs');
    expect([...forbidden.keys()]).toEqual(['BLACK']);
    expect(forbidden.get('BLACK')).toMatch(/^No finish is left for cord because legs BLACK excludes all 2/);
    // once a cord is chosen, that cord is the reason
    expect(strict.listForbidden({ ...FULL, cord: 'RAVEN' }, 'legs').get('BLACK')).toMatch(/^not with cord RAVEN/);
  });

  it('explain together why none is left', () => {
    const shut: Rule[] = [
      { when: { position: 'legs', finish: 'BLACK' }, excludes: { position: 'cord', finish: 'RAVEN' } },
      { when: { position: 'seat', finish: 'HIDE' }, excludes: { position: 'cord', finish: 'FLAX' } },
    ];
    const strict = makeChoiceGuide(makeScope(shut));
    const choices = { seat: 'HIDE', piping: 'FELT', legs: 'BLACK', cord: 'FLAX' };
    expect(strict.explainNoneLeft(choices, 'cord')).toBe(
      'No finish is left for cord because seat HIDE excludes 1 of its finishes and legs BLACK the other 1.',
    );
    expect(strict.explainNoneLeft(choices, 'piping')).toBeNull();
    expect(strict.listForbidden(choices, 'cord').size).toBe(2);
  });

  it('agree with the whole table for every row of two choices', () => {
    const scope = makeScope(RULES);
    const table = makePairTable(scope);
    let forbidden = 0;
    for (const seat of ['FELT', 'LOOP', 'HIDE']) {
      for (const cord of ['RAVEN', 'FLAX']) {
        const found = guide.listForbidden({ seat, cord }, 'legs');
        table.columns[2]!.finishes.forEach((finish, at) => {
          const fixed = new Map([
            [0, table.columns[0]!.finishes.indexOf(seat)],
            [3, table.columns[3]!.finishes.indexOf(cord)],
            [2, at],
          ]);
          expect(found.has(finish)).toBe(explainConflict(table, fixed) !== null);
          forbidden += found.has(finish) ? 1 : 0;
        });
      }
    }
    expect(forbidden).toBeGreaterThan(2);
  });

  it('treat slots that share a position separately', () => {
    const slots = [
      ...makeRuledSlots('legs', 'cord'),
      { ...makeRuledSlots('cord')[0]!, slot: 'cord-2', label: 'second' },
    ];
    const both = makeChoiceGuide(makeScope([FOLLOWS], { slots }));
    expect(both.explainRow({ legs: 'BLACK', cord: 'RAVEN', 'cord-2': 'FLAX' }).map(({ slots: at }) => at)).toEqual([
      ['legs', 'cord-2'],
    ]);
  });
});
