import { describe, expect, it } from 'vitest';
import { explainConflict, listPossibleFinishes } from '../../../../server/core/combinations/explain-conflict.ts';
import { listIncompatiblePairs } from '../../../../server/core/combinations/pair-table.ts';
import { describeConflict } from '../../../../server/core/texts/choice-texts.ts';
import { barPairs, listAllRows, makeRandomTable } from '../../../support/random-pair-table.ts';

const explain = (table: ReturnType<typeof barPairs>, ...choices: [number, number][]) => {
  const conflict = explainConflict(table, new Map(choices));
  return conflict && describeConflict(table, conflict);
};

/** A and B each exclude finishes of C, five in all; D has a rule with C that plays no part. */
const CORD = barPairs(
  [3, 3, 5, 2],
  [
    [0, 1, 2, 0],
    [0, 1, 2, 1],
    [0, 1, 2, 2],
    [1, 2, 2, 2],
    [1, 2, 2, 3],
    [1, 2, 2, 4],
    [2, 0, 3, 1],
  ],
);

describe('why choices cannot be completed', () => {
  it('names the choices that removed a column’s finishes, each finish once, and no needless choice', () => {
    const conflict = explainConflict(
      CORD,
      new Map([
        [3, 1],
        [0, 1],
        [1, 2],
      ]),
    );
    expect(conflict).toEqual({
      choices: [
        { column: 0, finish: 1 },
        { column: 1, finish: 2 },
      ],
      steps: [
        {
          column: 2,
          left: [],
          removedBy: [
            { column: 0, finish: 1, removes: [0, 1, 2] },
            { column: 1, finish: 2, removes: [3, 4] },
          ],
        },
      ],
    });
    expect(describeConflict(CORD, conflict!)).toBe(
      'No finish is left for C because A A1 excludes 3 of its finishes and B B2 the other 2.',
    );
  });

  it('gives none where the choices can be completed', () => {
    expect(explain(CORD, [0, 1], [1, 1])).toBe(null);
    expect(explain(CORD)).toBe(null);
  });

  it('says that two choices are incompatible, or that a column has nothing left', () => {
    expect(explain(CORD, [0, 1], [2, 1])).toBe('A A1 and C C1 cannot be combined.');
    expect(explain(barPairs([2, 0], []), [0, 1])).toBe('B has no finishes to choose from.');
  });

  it('follows the effect of a choice through other columns', () => {
    // A0 leaves only B1 and C1, which are incompatible; either B or C can be the last step.
    const table = barPairs(
      [2, 2, 2],
      [
        [0, 0, 1, 0],
        [0, 0, 2, 0],
        [1, 1, 2, 1],
      ],
    );
    expect(explain(table, [0, 0])).toBe(
      'No finish is left for B because A A0 excludes 1 of its finishes and the remaining finish of C the other 1; C has only C1 left because A A0 excludes 1 of its finishes.',
    );
  });

  it('finds conflicts that no single column shows: three columns of two finishes, no two the same', () => {
    // K3 cannot be coloured with two colours.
    const pairs = [0, 1].flatMap((i): [number, number, number, number][] => [
      [1, i, 2, i],
      [1, i, 3, i],
      [2, i, 3, i],
    ]);
    // A0 leaves B, C and D with two finishes each, of three.
    const table = barPairs(
      [2, 3, 3, 3],
      [...pairs, [1, 2, 2, 2], [1, 2, 3, 2], [2, 2, 3, 2], [0, 0, 1, 2], [0, 0, 2, 2], [0, 0, 3, 2]],
    );
    expect(explain(table, [0, 0])).toBe('No valid combination contains A A0.');
    expect(explain(table, [0, 1])).toBe(null);
  });

  it('is right about every pair of choices of small tables, and each choice it names is needed', () => {
    let conflicts = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const table = makeRandomTable({ sizes: [3, 3, 3, 3], excludes: 14 + (seed % 12), seed });
      const rows = listAllRows(table);
      const holds = (choices: ReadonlyMap<number, number>) =>
        rows.some((row) => [...choices].every(([column, finish]) => row[column] === finish));
      for (const [a, b] of [
        [0, 1],
        [1, 3],
        [2, 3],
      ] as const) {
        for (let pair = 0; pair < 9; pair++) {
          const choices = new Map([
            [a, Math.floor(pair / 3)],
            [b, pair % 3],
          ]);
          const conflict = explainConflict(table, choices);
          expect(conflict === null).toBe(holds(choices));
          if (!conflict) continue;
          conflicts++;
          expect(holds(new Map(conflict.choices.map(({ column, finish }) => [column, finish])))).toBe(false);
          const final = conflict.steps.at(-1);
          if (final) expect(final.left).toEqual([]);
        }
      }
    }
    expect(conflicts).toBeGreaterThan(100);
  });
});

describe('the possible finishes', () => {
  it('are those of the valid combinations; for a choice made, those it could change to', () => {
    for (let seed = 1; seed <= 60; seed++) {
      const table = makeRandomTable({ sizes: [3, 4, 3, 2], excludes: 8 + (seed % 14), seed });
      const rows = listAllRows(table);
      const choices = new Map([
        [0, seed % 3],
        [2, seed % 2],
      ]);
      const open = table.columns.map((_, column) => {
        const others = [...choices].filter(([other]) => other !== column);
        const fit = rows.filter((row) => others.every(([other, finish]) => row[other] === finish));
        return [...new Set(fit.map((row) => row[column]!))].sort();
      });
      expect(listPossibleFinishes(table, choices)).toEqual({ open, exact: true });
    }
  });
});

describe('incompatible pairs in a row', () => {
  it('are listed one by one', () => {
    expect(listIncompatiblePairs(CORD, [1, 2, 2, 0])).toEqual([
      { a: { column: 0, finish: 1 }, b: { column: 2, finish: 2 } },
      { a: { column: 1, finish: 2 }, b: { column: 2, finish: 2 } },
    ]);
    expect(listIncompatiblePairs(CORD, [0, 0, 0, 0])).toEqual([]);
  });
});
