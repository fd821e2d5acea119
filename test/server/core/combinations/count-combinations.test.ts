import { describe, expect, it } from 'vitest';
import { countCombinations } from '../../../../server/core/combinations/count-combinations.ts';
import { makeRandom } from '../../../../server/core/combinations/covering-array.ts';
import { barPairs, listAllRows, makeRandomTable } from '../../../support/random-pair-table.ts';

/** Small tables of many shapes: few and many excludes, columns of one finish, tables without a valid combination. */
function* makeSmallTables(count: number) {
  for (let seed = 1; seed <= count; seed++) {
    const random = makeRandom(seed);
    const sizes = Array.from({ length: 2 + Math.floor(random() * 5) }, () => 1 + Math.floor(random() * 5));
    const sum = sizes.reduce((total, size) => total + size, 0);
    const pairs = sizes.reduce((total, size) => total + size * (sum - size), 0) / 2;
    yield makeRandomTable({ sizes, excludes: Math.floor(random() * 0.6 * pairs), seed });
  }
}

describe('counting variants', () => {
  it('agrees with trying all combinations', () => {
    let empty = 0;
    for (const table of makeSmallTables(300)) {
      const count = BigInt(listAllRows(table).length);
      if (count === 0n) empty++;
      expect(countCombinations(table)).toEqual({ count, exact: true });
    }
    expect(empty).toBeGreaterThan(5);
  });

  it('gives bounds around the number when steps run out', () => {
    let bounded = 0;
    for (const table of makeSmallTables(300)) {
      const count = BigInt(listAllRows(table).length);
      for (const limit of [0, 30, 200]) {
        const answer = countCombinations(table, limit);
        if (answer.exact) expect(answer.count).toBe(count);
        else {
          bounded++;
          expect(answer.lower <= count && count <= answer.upper && answer.lower < answer.upper).toBe(true);
        }
      }
    }
    expect(bounded).toBeGreaterThan(50);
  });

  it('multiplies columns without rules, beyond what a double holds exactly', () => {
    expect(countCombinations(barPairs(new Array(20).fill(50), []))).toEqual({ count: 50n ** 20n, exact: true });
    expect(countCombinations(barPairs([], []))).toEqual({ count: 1n, exact: true });
    expect(countCombinations(barPairs([3, 0], []))).toEqual({ count: 0n, exact: true });
  });

  it('counts chains of excludes by the closed form: the trace of a power of the compatibility matrix', () => {
    // On a line of n columns of q finishes where neighbours differ, q·(q−1)^(n−1) combinations (colourings of a path).
    const size = 7;
    const columns = 30;
    const pairs = Array.from({ length: columns - 1 }, (_, c) =>
      Array.from({ length: size }, (_, i) => [c, i, c + 1, i] as const),
    ).flat();
    expect(countCombinations(barPairs(new Array(columns).fill(size), pairs))).toEqual({
      count: 7n * 6n ** 29n,
      exact: true,
    });
  });

  it('counts permutations where all columns differ', () => {
    // 7 columns, 7 finishes, no two the same: 7! (the chromatic polynomial of the complete graph K7 at 7).
    const pairs: [number, number, number, number][] = [];
    for (let b = 1; b < 7; b++) for (let a = 0; a < b; a++) for (let i = 0; i < 7; i++) pairs.push([a, i, b, i]);
    expect(countCombinations(barPairs(new Array(7).fill(7), pairs))).toEqual({ count: 5040n, exact: true });
  });

  it('follows a companion through scattered excludes: a column that copies another adds nothing', () => {
    const sizes = new Array<number>(12).fill(40);
    const table = makeRandomTable({ sizes, excludes: 120, seed: 9 });
    const plain = countCombinations(table);
    const columns = [...table.columns, { ...table.columns[11]!, key: 'same' }];
    const barred = new Map(
      [...table.barred].map(([key, bytes]) => [Math.floor(key / 12) * 13 + (key % 12), bytes] as const),
    );
    const same = new Uint8Array(1600);
    for (let i = 0; i < 40; i++) same[i * 40 + i] = 1;
    barred.set(11 * 13 + 12, same);
    expect(plain.exact).toBe(true);
    expect(countCombinations({ columns, barred })).toEqual(plain);
  });

  it('counts 12 × 40 with 200 excludes exactly, near the number for independent excludes', () => {
    for (const seed of [4, 5]) {
      const answer = countCombinations(makeRandomTable({ sizes: new Array(12).fill(40), excludes: 200, seed }));
      expect(answer.exact).toBe(true);
      if (!answer.exact) return;
      // Each exclude removes 1/1600 of the combinations, nearly independently of the others.
      expect(Number(answer.count) / 40 ** 12 / (1 - 1 / 1600) ** 200).toBeCloseTo(1, 2);
    }
  });

  it('stays exact where intermediate numbers pass 2^53: blocks of finishes barred from each other', () => {
    // Six columns in a ring of three blocks each; equal blocks must not meet. A ring of n columns has 2^n + 2·(−1)^n
    // colourings with three colours (chromatic polynomial of a cycle); each block has b finishes.
    const b = 400;
    const columns = Array.from({ length: 6 }, (_, c) => ({
      key: `c${c}`,
      label: `C${c}`,
      finishes: Array.from({ length: 3 * b }, (_, i) => `${c}-${i}`),
    }));
    const bytes = Uint8Array.from({ length: 9 * b * b }, (_, at) =>
      Math.floor(at / (3 * b) / b) === Math.floor((at % (3 * b)) / b) ? 0 : 1,
    );
    const ring = [1, 8, 15, 22, 29, 5];
    const barred = new Map(ring.map((key) => [key, bytes] as const));
    expect(countCombinations({ columns, barred })).toEqual({ count: 66n * BigInt(b) ** 6n, exact: true });
  });
});
