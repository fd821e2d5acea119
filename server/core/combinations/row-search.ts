import type { PairTable } from './pair-compatibility.ts';

/** How many choices one search may try before it gives up: an answer takes far fewer, a proof may take endlessly many. */
const SEARCH_LIMIT = 20_000;

/**
 * A combination in the making. Finishes have one running number over all columns (`starts[column] + finish`); of each it is
 * known how many of the choices made bar it, and of each column how many finishes are left.
 */
export class RowSearch {
  readonly sizes: readonly number[];
  readonly starts: readonly number[];
  /** The finish chosen per column, −1 where none is yet. */
  readonly row: number[];
  private readonly near: readonly (readonly number[])[];
  private readonly columnOf: readonly number[];
  private readonly barring: Uint32Array;
  private readonly left: number[];
  private triesLeft = 0;

  constructor(table: PairTable) {
    const columns = table.columns.length;
    this.sizes = table.columns.map((column) => column.finishes.length);
    let total = 0;
    this.starts = this.sizes.map((size) => (total += size) - size);
    this.columnOf = this.sizes.flatMap((size, column) => new Array<number>(size).fill(column));
    const near = Array.from({ length: total }, (): number[] => []);
    for (const [key, bytes] of table.barred) {
      const a = this.starts[Math.floor(key / columns)]!;
      const b = this.starts[key % columns]!;
      const width = this.sizes[key % columns]!;
      for (let at = 0; at < bytes.length; at++) {
        if (bytes[at] !== 0) continue;
        near[a + Math.floor(at / width)]!.push(b + (at % width));
        near[b + (at % width)]!.push(a + Math.floor(at / width));
      }
    }
    this.near = near;
    this.barring = new Uint32Array(total);
    this.left = [...this.sizes];
    this.row = this.sizes.map(() => -1);
  }

  /** Whether the finish may be chosen beside the choices made so far. */
  isOpen(column: number, finish: number): boolean {
    return this.barring[this.starts[column]! + finish] === 0;
  }

  /** Chooses a finish; false, with nothing changed, when it may not be chosen or some other column would have none left. */
  choose(column: number, finish: number): boolean {
    if (this.row[column] !== -1 || !this.isOpen(column, finish)) return false;
    this.row[column] = finish;
    let fits = true;
    for (const other of this.near[this.starts[column]! + finish]!) {
      const c = this.columnOf[other]!;
      if (this.barring[other]!++ === 0 && --this.left[c]! === 0 && this.row[c] === -1) fits = false;
    }
    if (!fits) this.undo(column);
    return fits;
  }

  undo(column: number): void {
    const finish = this.row[column]!;
    this.row[column] = -1;
    for (const other of this.near[this.starts[column]! + finish]!) {
      if (--this.barring[other]! === 0) this.left[this.columnOf[other]!]!++;
    }
  }

  clear(): void {
    for (let column = 0; column < this.row.length; column++) if (this.row[column] !== -1) this.undo(column);
  }

  /**
   * Completes the row in `row`, the likelier finishes (by `rate`, larger first) before the others, and the narrowest column
   * first. False, with the row as it was, when it cannot be completed; null when that is not settled within the limit.
   */
  complete(rate: (column: number, finish: number) => number): boolean | null {
    if (this.row.some((finish, column) => finish === -1 && this.left[column] === 0)) return false;
    this.triesLeft = SEARCH_LIMIT;
    const found = this.extend(rate);
    return !found && this.triesLeft <= 0 ? null : found;
  }

  private extend(rate: (column: number, finish: number) => number): boolean {
    let column = -1;
    for (let c = 0; c < this.row.length; c++) {
      if (this.row[c] === -1 && (column === -1 || this.left[c]! < this.left[column]!)) column = c;
    }
    if (column === -1) return true;
    const open: { finish: number; rating: number }[] = [];
    for (let finish = 0; finish < this.sizes[column]!; finish++) {
      if (this.isOpen(column, finish)) open.push({ finish, rating: rate(column, finish) });
    }
    open.sort((a, b) => b.rating - a.rating || a.finish - b.finish);
    for (const { finish } of open) {
      if (--this.triesLeft <= 0) return false;
      if (!this.choose(column, finish)) continue;
      if (this.extend(rate)) return true;
      this.undo(column);
    }
    return false;
  }
}
