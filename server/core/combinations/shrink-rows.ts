import type { PairCover } from './pair-cover.ts';
import type { RowSearch } from './row-search.ts';

/**
 * Rows with the needless ones taken out: for one row after another, those needed least first, each pair that it alone holds
 * is moved into another row, whose cells there are not needed (the idea of post-optimisation by flexible cells:
 * Nayeri, Colbourn, Konjevod, Randomized post-optimization of covering arrays, 2013, doi 10.1016/j.ejc.2012.07.017). `limit` is how many places may be looked at. The cover must hold the
 * rows, and does so afterwards.
 */
export function shrinkRows(
  search: RowSearch,
  cover: PairCover,
  given: readonly (readonly number[])[],
  random: () => number,
  limit: number,
): number[][] {
  let rows = given.map((row) => [...row]);
  let left = limit;
  for (let shrunk = true; shrunk && left > 0; ) {
    shrunk = false;
    const order = rows
      .map((row) => ({ row, needed: countNeeded(cover, row) + random() }))
      .sort((a, b) => a.needed - b.needed);
    for (const { row } of order) {
      if (left <= 0) break;
      let stays = false;
      for (let b = 1; b < row.length; b++) {
        for (let a = 0; a < b; a++) {
          const pair = cover.pair(a, row[a]!, b, row[b]!);
          if (cover.wanted[pair] === 0 || cover.counts[pair]! > 1) continue;
          let moved = false;
          const first = Math.floor(random() * rows.length);
          for (let step = 0; step < rows.length && !moved; step++) {
            const other = rows[(first + step) % rows.length]!;
            left--;
            if (other !== row && (other[a] === row[a] || other[b] === row[b] || step % 2 === 0)) {
              moved = movePair(search, cover, other, a, row[a]!, b, row[b]!);
            }
          }
          if (!moved) stays = true;
        }
        if (stays && b > row.length / 2) break;
      }
      if (stays || countNeeded(cover, row) > 0) continue;
      cover.add(row, -1);
      rows = rows.filter((other) => other !== row);
      shrunk = true;
    }
  }
  return rows;
}

/** How many pairs only this row holds. */
export function countNeeded(cover: PairCover, row: readonly number[]): number {
  let needed = 0;
  for (let b = 1; b < row.length; b++) {
    for (let a = 0; a < b; a++) {
      const pair = cover.pair(a, row[a]!, b, row[b]!);
      if (cover.counts[pair] === 1 && cover.wanted[pair] === 1) needed++;
    }
  }
  return needed;
}

/** Puts two choices into a row, if no pair that it alone holds is lost and it stays valid. */
function movePair(
  search: RowSearch,
  cover: PairCover,
  row: number[],
  a: number,
  i: number,
  b: number,
  j: number,
): boolean {
  for (let c = 0; c < row.length; c++) {
    for (const [column, finish] of [
      [a, i],
      [b, j],
    ] as const) {
      if (row[column] === finish || c === column) continue;
      const pair = cover.pair(column, row[column]!, c, row[c]!);
      if (cover.counts[pair] === 1 && cover.wanted[pair] === 1) return false;
    }
  }
  const next = [...row];
  next[a] = i;
  next[b] = j;
  if (!isValid(search, next)) return false;
  cover.add(row, -1);
  row[a] = i;
  row[b] = j;
  cover.add(row, 1);
  return true;
}

function isValid(search: RowSearch, row: readonly number[]): boolean {
  search.clear();
  let valid = true;
  for (let column = 0; column < row.length && valid; column++) valid = search.choose(column, row[column]!);
  search.clear();
  return valid;
}
