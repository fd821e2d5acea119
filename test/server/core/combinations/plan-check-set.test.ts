import { describe, expect, it } from 'vitest';
import type { PairTable } from '../../../../server/core/combinations/pair-table.ts';
import { planCheckSet } from '../../../../server/core/combinations/plan-check-set.ts';
import { barPairs, listAllRows, makeRandomTable } from '../../../support/random-pair-table.ts';

const alike = (columns: number, size: number) => barPairs(new Array(columns).fill(size), []);

function listPairs(rows: readonly (readonly number[])[]): Set<string> {
  const pairs = new Set<string>();
  for (const row of rows) {
    for (let b = 1; b < row.length; b++) for (let a = 0; a < b; a++) pairs.add(`${a}:${row[a]} ${b}:${row[b]}`);
  }
  return pairs;
}

/** Checks that every row is valid, and that the rows contain every pair that a valid row contains. */
function checkPairs(table: PairTable, standing: readonly (readonly number[])[] = []) {
  const valid = listAllRows(table);
  const known = new Set(valid.map((row) => row.join()));
  const { rows, covered, unsettled } = planCheckSet(table, 'pairs', standing);
  for (const row of rows) expect(known.has(row.join())).toBe(true);
  const pairs = listPairs(valid);
  expect(listPairs([...rows, ...standing.filter((row) => known.has(row.join()))])).toEqual(pairs);
  expect(covered).toBe(pairs.size);
  expect(unsettled).toBe(0);
  return rows;
}

describe('check sets of pairs without rules', () => {
  // Published least sizes CAN(2, columns, finishes), from memory. Orthogonal arrays of index 1 (Bush 1952) have q² rows for
  // up to q + 1 columns; with two finishes Kleitman and Spencer (1973), Katona (1973); the rest from Colbourn's tables.
  it.each([
    [4, 3, 9],
    [5, 4, 16],
    [6, 5, 25],
    [8, 7, 49],
    [9, 8, 64],
    [4, 2, 5],
    [5, 2, 6],
    [10, 2, 6],
    [15, 2, 7],
    [5, 3, 11],
  ])('reach the published size for %i columns of %i: %i rows', (columns, size, published) => {
    const { rows } = planCheckSet(alike(columns, size), 'pairs');
    expect(listPairs(rows).size).toBe(((columns * (columns - 1)) / 2) * size ** 2);
    expect(rows.length).toBe(published);
  });

  it.each([
    [7, 3, 12],
    [13, 3, 15],
    [6, 4, 19],
    [4, 6, 37],
  ])('come near the published size for %i columns of %i: %i rows', (columns, size, published) => {
    const { rows } = planCheckSet(alike(columns, size), 'pairs');
    expect(listPairs(rows).size).toBe(((columns * (columns - 1)) / 2) * size ** 2);
    expect(rows.length).toBeGreaterThanOrEqual(published);
    expect(rows.length).toBeLessThanOrEqual(published * 1.25);
  });

  it('take at most 1.35 × the bound for 8 columns of 20, and not fewer rows than the bound', () => {
    const { rows, bound, covered } = planCheckSet(alike(8, 20), 'pairs');
    expect(listPairs(rows).size).toBe(covered);
    expect(covered).toBe(28 * 400);
    expect(bound).toBe(400);
    expect(rows.length).toBeGreaterThanOrEqual(400);
    expect(rows.length).toBeLessThanOrEqual(540);
  });

  it('reach the product of the two largest columns where the others are small', () => {
    const { rows, bound } = planCheckSet(barPairs([40, 12, 8, 5, 3], []), 'pairs');
    expect(rows.length).toBe(480);
    expect(bound).toBe(480);
  });
});

describe('check sets of pairs under rules', () => {
  it('contain every pair that a valid combination contains, and nothing invalid', () => {
    for (let seed = 1; seed <= 40; seed++) {
      checkPairs(makeRandomTable({ sizes: [4, 3, 5, 2, 3], excludes: 6 + seed, seed }));
    }
  });

  it('take at most 1.6 × the bound for 8 columns of 20 with 200 excludes', () => {
    const table = makeRandomTable({ sizes: new Array(8).fill(20), excludes: 200, seed: 4 });
    const { rows, covered, impossible } = planCheckSet(table, 'pairs');
    expect(rows.length).toBeLessThanOrEqual(640);
    expect(covered).toBe(28 * 400 - 200);
    expect(impossible).toBe(200);
    expect(listPairs(rows).size).toBe(covered);
    for (const [key, bytes] of table.barred) {
      for (const row of rows) expect(bytes[row[Math.floor(key / 8)]! * 20 + row[key % 8]!]).toBe(1);
    }
  });

  it('count valid existing rows as shown, and ignore invalid ones', () => {
    const table = makeRandomTable({ sizes: [4, 4, 4], excludes: 6, seed: 3 });
    const all = checkPairs(table);
    const [first, second] = all;
    const barred = [...table.barred][0]!;
    const at = barred[1].indexOf(0);
    const invalid = [0, 0, 0];
    invalid[Math.floor(barred[0] / 3)] = Math.floor(at / 4);
    invalid[barred[0] % 3] = at % 4;
    const rest = checkPairs(table, [first!, second!, invalid]);
    expect(rest.length).toBeLessThanOrEqual(all.length);
    expect(planCheckSet(table, 'pairs', all).rows).toEqual([]);
    expect(planCheckSet(table, 'pairs', [first!, invalid, [9, 9, 9]]).standing).toBe(1);
  });

  it('are the same each time', () => {
    const table = makeRandomTable({ sizes: [6, 5, 4, 4], excludes: 12, seed: 8 });
    expect(planCheckSet(table, 'pairs')).toEqual(planCheckSet(table, 'pairs'));
  });

  it('are empty where no combination is valid', () => {
    const table = barPairs(
      [2, 1],
      [
        [0, 0, 1, 0],
        [0, 1, 1, 0],
      ],
    );
    expect(planCheckSet(table, 'pairs')).toMatchObject({ rows: [], covered: 0, impossible: 2 });
    expect(planCheckSet(table, 'each-finish')).toMatchObject({ rows: [], covered: 0, impossible: 3 });
    expect(planCheckSet(barPairs([3, 0], []), 'pairs')).toMatchObject({ rows: [], covered: 0 });
    expect(planCheckSet(barPairs([], []), 'pairs')).toMatchObject({ rows: [], covered: 0 });
  });
});

describe('check sets of each finish', () => {
  it('have as many rows as the largest column has finishes, without rules', () => {
    expect(planCheckSet(barPairs([7, 20, 3], []), 'each-finish')).toMatchObject({
      covered: 30,
      impossible: 0,
      bound: 20,
    });
    expect(planCheckSet(barPairs([7, 20, 3], []), 'each-finish').rows).toHaveLength(20);
    expect(planCheckSet(barPairs([4], []), 'pairs').rows).toEqual([[0], [1], [2], [3]]);
  });

  it('show every finish that a valid combination contains, and only valid combinations', () => {
    for (let seed = 1; seed <= 40; seed++) {
      const table = makeRandomTable({ sizes: [4, 3, 5, 2, 3], excludes: 10 + seed, seed });
      const valid = listAllRows(table);
      const finishes = new Set(valid.flatMap((row) => row.map((finish, column) => `${column}:${finish}`)));
      const { rows, covered } = planCheckSet(table, 'each-finish', valid.slice(0, 1));
      const shown = [...valid.slice(0, 1), ...rows].flatMap((row) =>
        row.map((finish, column) => `${column}:${finish}`),
      );
      expect(new Set(shown)).toEqual(finishes);
      expect(covered).toBe(finishes.size);
      for (const row of rows) expect(valid).toContainEqual(row);
    }
  });
});
