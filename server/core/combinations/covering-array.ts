import { findPrimePower, makeField } from './finite-field.ts';

/**
 * Rows in which any two columns hold every pair of their finishes, from an orthogonal array over a finite field (Bush 1952):
 * with q elements, rows (a, b) hold a·x + b in the column of the element x, and a in one column more. −1 stands for any finish:
 * where the array has more levels than the column. Sorted so that whole rows of it come away: rows with two finishes or more
 * only. `sizes` are the columns' numbers of finishes; q is the smallest prime power that reaches the largest of them and
 * whose q + 1 columns are enough.
 */
export function planOrthogonalRows(sizes: readonly number[]): number[][] {
  const q = findPrimePower(Math.max(2, sizes.length - 1, ...sizes));
  const field = makeField(q)!;
  const rows: number[][] = [];
  for (let a = 0; a < q; a++) {
    for (let b = 0; b < q; b++) {
      const row = sizes.map((size, column) => {
        const level = column === q ? a : field.add(field.multiply(a, column), b);
        return level < size ? level : -1;
      });
      if (row.filter((level) => level >= 0).length >= Math.min(2, sizes.length)) rows.push(row);
    }
  }
  return rows;
}

/** Rows an orthogonal array would have for these columns, before any come away. */
export function countOrthogonalRows(sizes: readonly number[]): number {
  return findPrimePower(Math.max(2, sizes.length - 1, ...sizes)) ** 2;
}

/**
 * The fewest rows there can be for columns of two finishes (Katona; Kleitman and Spencer; in Lawrence et al., A Survey of
 * Binary Covering Arrays, Electronic Journal of Combinatorics 18, 2011): with n rows,
 * up to C(n−1, ⌈n/2⌉) columns. One row is all 0; in the others each column has its own set of ⌈n/2⌉ ones. Two such sets differ,
 * and meet, since two of them are more than n − 1.
 */
export function planBinaryRows(columns: number): number[][] {
  let rows = 4;
  while (countSubsets(rows - 1, Math.ceil(rows / 2)) < columns) rows++;
  const ones = Math.ceil(rows / 2);
  const result = Array.from({ length: rows }, () => new Array<number>(columns).fill(0));
  const chosen = Array.from({ length: ones }, (_, i) => i);
  for (let column = 0; column < columns; column++) {
    for (const row of chosen) result[row + 1]![column] = 1;
    let turn = ones - 1;
    while (turn >= 0 && chosen[turn] === rows - 1 - ones + turn) turn--;
    if (turn < 0) break;
    chosen[turn]!++;
    for (let i = turn + 1; i < ones; i++) chosen[i] = chosen[i - 1]! + 1;
  }
  return result;
}

function countSubsets(n: number, k: number): number {
  let count = 1;
  for (let i = 0; i < k; i++) count = (count * (n - i)) / (i + 1);
  return Math.round(count);
}
