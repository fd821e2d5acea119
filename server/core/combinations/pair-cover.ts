import type { RowSearch } from './row-search.ts';

/**
 * Which pairs of finishes a growing set of rows covers, and how often. Pairs have one running number each:
 * `offset(a, b) + i * sizes[b] + j` for columns a < b.
 */
export class PairCover {
  readonly sizes: readonly number[];
  readonly offsets: readonly (readonly number[])[];
  /** How many rows hold each pair. */
  readonly counts: Uint32Array;
  /** 1 for each pair that is to be covered, 0 for those that cannot be. */
  readonly wanted: Uint8Array;
  /** Per finish (running number over columns) how many wanted pairs with it are not covered yet. */
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

  /** Takes a pair among those wanted, or out of them again (it turned out to be in no combination). */
  want(a: number, i: number, b: number, j: number, wanted: boolean): void {
    const pair = this.pair(a, i, b, j);
    if ((this.wanted[pair] === 1) === wanted) return;
    this.wanted[pair] = wanted ? 1 : 0;
    if (this.counts[pair] === 0) this.turn(a, i, b, j, wanted ? 1 : -1);
  }

  /** Adds a row (or takes one away); cells of −1 hold nothing. */
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

  /** How many wanted pairs not covered yet the finish would make with the choices of the row. */
  gain(row: readonly number[], column: number, finish: number): number {
    let gain = 0;
    for (let c = 0; c < row.length; c++) {
      if (c === column || row[c]! < 0) continue;
      const pair = this.pair(c, row[c]!, column, finish);
      if (this.counts[pair] === 0 && this.wanted[pair] === 1) gain++;
    }
    return gain;
  }

  /** Whether the row would cover a wanted pair that is not covered yet. */
  addsAnything(row: readonly number[]): boolean {
    return row.some((finish, column) => finish >= 0 && this.gain(row, column, finish) > 0);
  }

  openOf(column: number, finish: number): number {
    return this.open[this.starts[column]! + finish]!;
  }

  /** How well the finish goes with the choices of the row: what it covers now, and, for ties, what it still could later. */
  rate(row: readonly number[], column: number, finish: number): number {
    return this.gain(row, column, finish) * 1000 + Math.min(900, this.openOf(column, finish));
  }

  private turn(a: number, i: number, b: number, j: number, by: 1 | -1): void {
    this.open[this.starts[a]! + i]! += by;
    this.open[this.starts[b]! + j]! += by;
    this.openPairs += by;
  }
}
