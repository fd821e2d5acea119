import { describe, expect, it } from 'vitest';
import { countCombinations } from '../../../../server/core/combinations/count-combinations.ts';
import { type PairTable, visitCombinations } from '../../../../server/core/combinations/pair-table.ts';
import type { RangeStatus } from '../../../../server/core/finish/finish.ts';
import type { Rule } from '../../../../server/core/line/line.ts';
import { compileRules } from '../../../../server/core/line/rules.ts';
import {
  listBreaches,
  listImpossibleChoices,
  listRuleEffects,
  makePairTable,
} from '../../../../server/core/schedule/rule-effects.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSlot } from '../../../support/make-survey.ts';
import { createRandom } from '../../../support/random.ts';
import { barPairs, listAllRows, makeRandomTable } from '../../../support/random-pair-table.ts';
import { makeRuledLine, makeRuledSlots, makeScope } from '../../../support/rules.ts';

/** The barred pairs in words, sorted. */
function listBarred({ columns, barred }: PairTable): string[] {
  const n = columns.length;
  return [...barred]
    .flatMap(([key, pairs]) => {
      const a = columns[Math.floor(key / n)]!;
      const b = columns[key % n]!;
      return [...pairs].flatMap((open, at) => {
        const i = Math.floor(at / b.finishes.length);
        return open === 0 ? [`${a.key} ${a.finishes[i]} | ${b.key} ${b.finishes[at % b.finishes.length]}`] : [];
      });
    })
    .sort();
}

function listValid(table: PairTable): string[] {
  const found: string[] = [];
  visitCombinations(table, (chosen) => found.push(chosen.map((i, c) => table.columns[c]!.finishes[i]).join(' ')) > 0);
  return found;
}

describe('a table of choices', () => {
  it('has a column for each changing slot, with its options in the range’s order', () => {
    const slots = [
      ...makeRuledSlots('legs', 'seat'),
      makeSlot('fixed', { position: 'seat', fixed: true }),
      makeSlot('gone', { position: 'seat', primitives: [] }),
    ];
    expect(makePairTable(makeScope([], { slots }))).toEqual({
      columns: [
        { key: 'legs', label: 'legs', finishes: ['OAK', 'BRASS', 'BLACK'] },
        { key: 'seat', label: 'seat', finishes: ['FELT', 'LOOP', 'HIDE'] },
      ],
      barred: new Map(),
    });
  });

  it('leaves out planned and discontinued finishes only on request', () => {
    const whole = makeRuledLine([]);
    const status: Record<string, RangeStatus> = { FELT: 'planned', LOOP: 'discontinued', HIDE: 'phase-out' };
    const line = {
      ...whole,
      range: whole.range.map((entry) => ({ ...entry, status: status[entry.finish] ?? entry.status })),
    };
    const scope = makeScope([], { line, slots: makeRuledSlots('seat') });
    expect(makePairTable(scope).columns[0]!.finishes).toEqual(['FELT', 'LOOP', 'HIDE']);
    expect(makePairTable(scope, { soldOnly: true }).columns[0]!.finishes).toEqual(['HIDE']);
  });

  // by hand, for each kind; in the second, the columns are in the opposite order to the rule
  it.each<[string, Rule, string[], string[]]>([
    [
      'excludes',
      { when: { position: 'seat', tag: 'thick' }, excludes: { position: 'piping', tag: 'thick' } },
      ['seat', 'piping'],
      ['seat LOOP | piping LOOP'],
    ],
    [
      'requires',
      { when: { position: 'seat', family: 'leather' }, requires: { position: 'legs', family: 'bare-metal' } },
      ['legs', 'seat'],
      ['legs BLACK | seat HIDE', 'legs OAK | seat HIDE'],
    ],
    [
      'sameAs',
      { when: { position: 'seat', family: 'leather' }, sameAs: { position: 'piping' } },
      ['seat', 'piping'],
      ['seat HIDE | piping FELT', 'seat HIDE | piping LOOP'],
    ],
    [
      'companion',
      { when: { position: 'legs' }, companion: { position: 'cord' } },
      ['legs', 'cord'],
      ['legs BLACK | cord FLAX'],
    ],
  ])('bars the pairs of %s', (_, rule, positions, barred) => {
    expect(listBarred(makePairTable(makeScope([rule], { slots: makeRuledSlots(...positions) })))).toEqual(barred);
  });

  it('bars for every slot at a position', () => {
    const slots = [
      makeSlot('arm', { position: 'seat' }),
      makeSlot('back', { position: 'seat' }),
      ...makeRuledSlots('piping'),
    ];
    const rule: Rule = { when: { position: 'seat' }, sameAs: { position: 'piping' } };
    // three finishes each: all three slots agree
    expect(listValid(makePairTable(makeScope([rule], { slots })))).toEqual([
      'FELT FELT FELT',
      'LOOP LOOP LOOP',
      'HIDE HIDE HIDE',
    ]);
  });

  // brute force: each of all combinations, checked by the rules themselves
  it('allows exactly the combinations that break no rule, and counts them, on random rules', () => {
    const random = createRandom(7);
    const families = ['wood', 'textile', 'leather'] as const;
    const finishes = Array.from({ length: 7 }, (_, i) =>
      makeFinish(`F${i}`, {
        family: families[i % 3]!,
        tags: i % 2 ? ['odd'] : ['even'],
        companions: { c: `F${(i * 3) % 7}` },
      }),
    );
    const keys = ['a', 'b', 'c', 'd'];
    for (let round = 0; round < 40; round++) {
      const place = (position: string) =>
        [
          { position, finish: `F${random.whole(7)}` },
          { position, family: families[random.whole(3)]! },
          { position, tag: random.whole(2) ? 'odd' : 'even' },
          { position, grade: 'B' },
        ][random.whole(4)]!;
      const rules = Array.from({ length: random.whole(6) }, (): Rule => {
        const from = random.whole(4);
        const when = place(keys[from]!);
        const position = keys[(from + 1 + random.whole(3)) % 4]!;
        const kind = random.whole(4);
        if (kind === 0) return { when, excludes: place(position) };
        if (kind === 1) return { when, requires: place(position) };
        return kind === 2 || position !== 'c' ? { when, sameAs: { position } } : { when, companion: { position } };
      });
      const line = {
        line: 'L',
        name: 'L',
        positions: keys.map((position) => ({ position, label: position })),
        range: finishes.map(({ finish }, i) => ({ finish, grade: i < 3 ? 'A' : 'B', status: 'current' as const })),
        rules,
      };
      const scope = { slots: makeRuledSlots(...keys), line, finishes: byFoldedCode(finishes) };
      const compiled = compileRules(scope);
      const expected: string[] = [];
      for (let n = 0; n < 7 ** 4; n++) {
        const codes = [343, 49, 7, 1].map((unit) => `F${Math.floor(n / unit) % 7}`);
        const choices = Object.fromEntries(keys.map((key, i) => [key, codes[i]!]));
        if (listBreaches(choices, compiled).length === 0) expected.push(codes.join(' '));
      }
      const table = makePairTable(scope);
      expect(listValid(table)).toEqual(expected);
      expect(countCombinations(table)).toEqual({ count: BigInt(expected.length), exact: true });
    }
  });
});

describe('the walk over valid combinations', () => {
  const table = makePairTable(makeScope([]));

  it('ends when the visitor stops it', () => {
    let seen = 0;
    expect(visitCombinations(table, () => ++seen < 5)).toBe('enough');
    expect(seen).toBe(5);
  });

  it('stops at the work limit', () => {
    expect(visitCombinations(table, () => true, 10)).toBe('work-limit');
    expect(visitCombinations(table, () => true)).toBe('all');
  });
});

it('names the rules that one combination breaks, and none for slots without a choice', () => {
  const rules: Rule[] = [
    { when: { position: 'seat', tag: 'thick' }, excludes: { position: 'piping', tag: 'thick' } },
    { when: { position: 'legs' }, companion: { position: 'cord' } },
  ];
  const compiled = compileRules(makeScope(rules));
  const breaches = listBreaches({ seat: 'LOOP', piping: 'LOOP', legs: 'BLACK', cord: 'FLAX' }, compiled);
  expect(breaches.map(({ rule, from, to }) => [rule.index, from, to])).toEqual([
    [0, 'LOOP', 'LOOP'],
    [1, 'BLACK', 'FLAX'],
  ]);
  expect(listBreaches({ seat: 'LOOP', legs: 'BLACK' }, compiled)).toEqual([]);
});

// Compared with all combinations of small tables, listed one by one.

describe('impossible choices', () => {
  it('are those in no valid combination, each with its reason', () => {
    let found = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const table = makeRandomTable({ sizes: [3, 3, 3, 3], excludes: 14 + (seed % 14), seed });
      const rows = listAllRows(table);
      const { none, choices, more } = listImpossibleChoices(table);
      if (rows.length === 0) {
        expect([typeof none, choices.length]).toEqual(['string', 0]);
        continue;
      }
      const shown = new Set(rows.flatMap((row) => row.map((finish, column) => `${column} ${finish}`)));
      const shut = table.columns.flatMap(({ finishes }, column) =>
        finishes.map((_, finish) => `${column} ${finish}`).filter((key) => !shown.has(key)),
      );
      expect(choices.map(({ column, finish }) => `${column} ${finish}`)).toEqual(shut);
      expect([none, more]).toEqual([null, 0]);
      for (const { because } of choices) expect(because).toMatch(/\.$/);
      found += shut.length;
    }
    expect(found).toBeGreaterThan(40);
  });

  it('are only counted above the limit, and not listed where there is no combination at all', () => {
    const open = barPairs(
      [3, 2],
      [0, 1].flatMap((i) => [0, 1].map((j): [number, number, number, number] => [0, i, 1, j])),
    );
    expect(listImpossibleChoices(open, 1)).toMatchObject({ none: null, choices: [{ column: 0, finish: 0 }], more: 1 });
    const none = barPairs([1, 1], [[0, 0, 1, 0]]);
    expect(listImpossibleChoices(none)).toEqual({
      none: 'No finish is left for A because every finish of B excludes its only finish.',
      choices: [],
      more: 0,
    });
    expect(listImpossibleChoices(barPairs([2, 0], [])).none).toBe('B has no finishes to choose from.');
  });
});

describe('the effects of a line’s rules on a product', () => {
  it('are the rules that bind, the finishes they exclude, and the rows that break them', () => {
    const scope = makeScope([
      { when: { position: 'seat', finish: 'HIDE' }, requires: { position: 'piping', family: 'wood' } },
      { when: { position: 'seat' }, sameAs: { position: 'lining' } },
      { when: { position: 'legs' }, companion: { position: 'cord' } },
    ]);
    const row = (code: string, legs: string, cord: string) => ({ code, name: code, choices: { legs, cord } });
    const schedule = { default: 'A', variants: [row('A', 'BLACK', 'RAVEN'), row('B', 'BLACK', 'FLAX')] };
    expect(listRuleEffects(scope, makePairTable(scope, { soldOnly: true }), schedule)).toEqual({
      unruled: 54n,
      binding: [0, 2],
      breaking: 1,
      none: null,
      impossible: [
        {
          slot: 'seat',
          label: 'seat',
          finish: 'HIDE',
          because: 'No finish is left for piping because seat HIDE excludes all 3 of its finishes.',
        },
      ],
      more: 0,
    });
  });
});
