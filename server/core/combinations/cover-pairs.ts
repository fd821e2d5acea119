import type { PairCover } from './pair-cover.ts';
import type { RowSearch } from './row-search.ts';

/** How many rows are tried for each one taken: more gain little. The greedy way is that of AETG (Cohen et al., IEEE TSE 23(7), 1997). */
const CANDIDATES = 12;

/** With fewer candidates once all of them together would look at more finishes than this. */
const MAX_LOOKS = 40_000_000;

/**
 * Adds rows to the cover until every wanted pair is held by one, each time the best of some candidates: a pair not covered
 * yet, and then column after column, in changing order, the finish that covers most. A pair that no combination holds is
 * taken out of those wanted. Returns the rows added, and how many pairs could not be settled within the limit of a search;
 * undefined when more than `most` rows would be added.
 */
export function coverPairs(
  search: RowSearch,
  cover: PairCover,
  random: () => number,
  most: number,
): { readonly rows: number[][]; readonly unsettled: number } | undefined {
  const { sizes } = search;
  const rows: number[][] = [];
  let unsettled = 0;
  const looks = cover.openPairs * sizes.reduce((sum, size) => sum + size, 0);
  const candidates = Math.max(1, Math.min(CANDIDATES, Math.floor(MAX_LOOKS / Math.max(1, looks))));
  const rate = (column: number, finish: number) => cover.rate(search.row, column, finish) + random();
  while (cover.openPairs > 0) {
    if (rows.length > most) return undefined;
    let best: number[] | undefined;
    let bestGain = 0;
    for (let candidate = 0; candidate < candidates; candidate++) {
      const seed = pickPair(cover, random, candidate === 0);
      search.clear();
      const placed = search.choose(seed.a, seed.i) && search.choose(seed.b, seed.j);
      const order = shuffle(sizes, random).filter((column) => column !== seed.a && column !== seed.b);
      if (placed) for (const column of order) chooseBest(search, column, rate);
      let found = placed && search.complete(rate);
      if (!found) {
        // The quick way led nowhere: settle whether the pair is in any combination at all.
        search.clear();
        found = search.choose(seed.a, seed.i) && search.choose(seed.b, seed.j) ? search.complete(rate) : false;
      }
      if (!found) {
        if (found === null) unsettled++;
        cover.want(seed.a, seed.i, seed.b, seed.j, false);
        if (cover.openPairs === 0) break;
        continue;
      }
      const row = [...search.row];
      const gain = countGain(cover, row);
      if (gain > bestGain) {
        best = row;
        bestGain = gain;
      }
    }
    if (best) {
      rows.push(best);
      cover.add(best, 1);
    }
  }
  search.clear();
  return { rows, unsettled };
}

/** Chooses the best-rated finish that leaves every other column something; leaves the column to the search if there is none. */
function chooseBest(search: RowSearch, column: number, rate: (column: number, finish: number) => number): void {
  for (let barred = new Set<number>(); ; ) {
    let best = -1;
    let bestRating = -1;
    for (let finish = 0; finish < search.sizes[column]!; finish++) {
      if (!search.isOpen(column, finish) || barred.has(finish)) continue;
      const rating = rate(column, finish);
      if (rating > bestRating) {
        best = finish;
        bestRating = rating;
      }
    }
    if (best === -1 || search.choose(column, best)) return;
    barred = barred.add(best);
  }
}

/** A pair not covered yet: with the finish that has most of them left, or by chance. */
function pickPair(
  cover: PairCover,
  random: () => number,
  fullest: boolean,
): { readonly a: number; readonly i: number; readonly b: number; readonly j: number } {
  let column = 0;
  let finish = 0;
  let bestRating = -1;
  for (const [c, size] of cover.sizes.entries()) {
    for (let i = 0; i < size; i++) {
      const open = cover.openOf(c, i);
      if (open === 0) continue;
      const rating = fullest ? open + random() : random();
      if (rating > bestRating) {
        column = c;
        finish = i;
        bestRating = rating;
      }
    }
  }
  const partners: { b: number; j: number }[] = [];
  for (const [b, size] of cover.sizes.entries()) {
    if (b === column) continue;
    for (let j = 0; j < size; j++) {
      const pair = cover.pair(column, finish, b, j);
      if (cover.counts[pair] === 0 && cover.wanted[pair] === 1) partners.push({ b, j });
    }
  }
  const partner = partners[Math.floor(random() * partners.length)]!;
  return { a: column, i: finish, b: partner.b, j: partner.j };
}

function countGain(cover: PairCover, row: readonly number[]): number {
  let twice = 0;
  for (let column = 0; column < row.length; column++) twice += cover.gain(row, column, row[column]!);
  return twice / 2;
}

function shuffle(sizes: readonly number[], random: () => number): number[] {
  const order = [...sizes.keys()];
  for (let at = order.length - 1; at > 0; at--) {
    const other = Math.floor(random() * (at + 1));
    [order[at], order[other]] = [order[other]!, order[at]!];
  }
  return order;
}
