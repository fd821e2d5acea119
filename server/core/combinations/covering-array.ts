import type { RowSearch } from './pair-table.ts';

/**
 * Counts which pairs of finishes a growing set of rows covers, and how often. Each pair has a running number:
 * `offset(a, b) + i * sizes[b] + j` for columns a < b.
 */
export class PairCover {
  readonly sizes: readonly number[];
  readonly offsets: readonly (readonly number[])[];
  /** Number of rows that contain each pair. */
  readonly counts: Uint32Array;
  /** 1 for each pair that must be covered, 0 for each that cannot be. */
  readonly wanted: Uint8Array;
  /** Per finish (running number over columns): the number of wanted pairs with it that are not covered yet. */
  readonly open: Uint32Array;
  openPairs = 0;
  private readonly starts: readonly number[];

  constructor(search: RowSearch) {
    this.sizes = search.sizes;
    this.starts = search.starts;
    let total = 0;
    this.offsets = this.sizes.map((size, a) =>
      this.sizes.map((width, b) => {
        if (b <= a) return -1;
        total += size * width;
        return total - size * width;
      }),
    );
    this.counts = new Uint32Array(total);
    this.wanted = new Uint8Array(total);
    this.open = new Uint32Array(this.sizes.reduce((sum, size) => sum + size, 0));
  }

  pair(a: number, i: number, b: number, j: number): number {
    return a < b ? this.offsets[a]![b]! + i * this.sizes[b]! + j : this.offsets[b]![a]! + j * this.sizes[a]! + i;
  }

  /** Adds a pair to the wanted ones, or removes it (when no combination contains it). */
  want(a: number, i: number, b: number, j: number, wanted: boolean): void {
    const pair = this.pair(a, i, b, j);
    if ((this.wanted[pair] === 1) === wanted) return;
    this.wanted[pair] = wanted ? 1 : 0;
    if (this.counts[pair] === 0) this.turn(a, i, b, j, wanted ? 1 : -1);
  }

  /** Adds a row (or removes one); a cell of −1 is empty. */
  add(row: readonly number[], times: 1 | -1): void {
    for (let b = 1; b < row.length; b++) {
      if (row[b]! < 0) continue;
      for (let a = 0; a < b; a++) {
        if (row[a]! < 0) continue;
        const pair = this.pair(a, row[a]!, b, row[b]!);
        const before = this.counts[pair]!;
        this.counts[pair] = before + times;
        if (this.wanted[pair] === 1 && (times === 1 ? before === 0 : before === 1)) {
          this.turn(a, row[a]!, b, row[b]!, times === 1 ? -1 : 1);
        }
      }
    }
  }

  /** Number of wanted, uncovered pairs that the finish forms with the choices of the row. */
  gain(row: readonly number[], column: number, finish: number): number {
    let gain = 0;
    for (let c = 0; c < row.length; c++) {
      if (c === column || row[c]! < 0) continue;
      const pair = this.pair(c, row[c]!, column, finish);
      if (this.counts[pair] === 0 && this.wanted[pair] === 1) gain++;
    }
    return gain;
  }

  /** Whether the row covers a wanted pair that is not covered yet. */
  addsAnything(row: readonly number[]): boolean {
    return row.some((finish, column) => finish >= 0 && this.gain(row, column, finish) > 0);
  }

  openOf(column: number, finish: number): number {
    return this.open[this.starts[column]! + finish]!;
  }

  /**
   * Rates a finish beside the choices of the row: by the pairs it covers now and, for ties, by those it could cover
   * later.
   */
  rate(row: readonly number[], column: number, finish: number): number {
    return this.gain(row, column, finish) * 1000 + Math.min(900, this.openOf(column, finish));
  }

  private turn(a: number, i: number, b: number, j: number, by: 1 | -1): void {
    this.open[this.starts[a]! + i]! += by;
    this.open[this.starts[b]! + j]! += by;
    this.openPairs += by;
  }
}

/**
 * Number of candidate rows for each row added: more gain little. The greedy method is that of AETG (Cohen et al., IEEE
 * TSE 23(7), 1997).
 */
const CANDIDATES = 12;

/** Above this number of finishes to look at, in all candidates together, there are fewer candidates. */
const MAX_LOOKS = 40_000_000;

/**
 * Adds rows to the cover until it covers every wanted pair. Each row is the best of some candidates. A candidate starts
 * with an uncovered pair, and then takes, column by column in changing order, the finish that covers most. A pair that
 * no combination contains is no longer wanted.
 * Returns the rows added, and the number of pairs that stay open within the limit of a search; undefined when more than
 * `most` rows would be added.
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
        // The quick way failed: find out whether any combination contains the pair.
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

/**
 * Chooses the best-rated finish that leaves a finish for every other column; leaves the column to the search if there
 * is none.
 */
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

/** Picks an uncovered pair: one with the finish that has most of them left, or a random one. */
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

/**
 * Removes needless rows. For one row after another, those with the fewest needed pairs first, each pair that only this
 * row contains moves into another row whose cells there are not needed. The idea is post-optimisation by flexible
 * cells: Nayeri, Colbourn, Konjevod, Randomized post-optimization of covering arrays, 2013, doi
 * 10.1016/j.ejc.2012.07.017. `limit` is the number of places it may look at. The cover must match the rows, before and
 * after.
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

/** Number of pairs that only this row contains. */
function countNeeded(cover: PairCover, row: readonly number[]): number {
  let needed = 0;
  for (let b = 1; b < row.length; b++) {
    for (let a = 0; a < b; a++) {
      const pair = cover.pair(a, row[a]!, b, row[b]!);
      if (cover.counts[pair] === 1 && cover.wanted[pair] === 1) needed++;
    }
  }
  return needed;
}

/** Puts two choices into a row, if the row loses no pair that only it contains, and stays valid. */
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

/**
 * Numbers from 0 up to 1 that look random and are the same on every machine for one seed (mulberry32 by Tommy Ettinger,
 * 2017, CC0: his gist 46a874533244883189143505d203312c). For searches that need variety; a result depends on its input
 * only.
 */
export function makeRandom(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}
