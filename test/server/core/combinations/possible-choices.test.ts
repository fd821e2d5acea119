import { describe, expect, it } from 'vitest';
import { listImpossibleChoices } from '../../../../server/core/combinations/possible-choices.ts';
import { makePairTable } from '../../../../server/core/schedule/make-pair-table.ts';
import { listRuleEffects } from '../../../../server/core/schedule/rule-effects.ts';
import { barPairs, listAllRows, makeRandomTable } from '../../../support/random-pair-table.ts';
import { makeScope } from '../../../support/rules.ts';

// Held against all combinations of small tables, listed one by one.

describe('choices that nothing is left for', () => {
  it('are those that no valid combination holds, each with its reason', () => {
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

  it('are counted beyond so many, and not listed where there is no combination at all', () => {
    const open = barPairs(
      [3, 2],
      [0, 1].flatMap((i) => [0, 1].map((j): [number, number, number, number] => [0, i, 1, j])),
    );
    expect(listImpossibleChoices(open, 1)).toMatchObject({ none: null, choices: [{ column: 0, finish: 0 }], more: 1 });
    const none = barPairs([1, 1], [[0, 0, 1, 0]]);
    expect(listImpossibleChoices(none)).toEqual({
      none: 'No finish is left for A because every finish of B excludes it.',
      choices: [],
      more: 0,
    });
    expect(listImpossibleChoices(barPairs([2, 0], [])).none).toBe('B has no finishes to choose from.');
  });
});

describe('what the rules of a line do to a product', () => {
  it('is which of them bind, which finishes they shut out, and which rows break them', () => {
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
