/** One choice: column and finish, both as indices in the table. */
export interface Choice {
  readonly column: number;
  readonly finish: number;
}

/** Whether one combination may contain both choices. Two different choices of one column are never compatible. */
export function areCompatible(table: PairTable, a: Choice, b: Choice): boolean {
  if (a.column === b.column) return a.finish === b.finish;
  if (a.column > b.column) return areCompatible(table, b, a);
  const bytes = table.barred.get(a.column * table.columns.length + b.column);
  return bytes?.[a.finish * table.columns[b.column]!.finishes.length + b.finish] !== 0;
}

/** The incompatible pairs of choices in a full row (one finish per column). A valid row has none. */
export function listIncompatiblePairs(
  table: PairTable,
  row: readonly number[],
): readonly { readonly a: Choice; readonly b: Choice }[] {
  const pairs: { a: Choice; b: Choice }[] = [];
  for (let column = 0; column < row.length; column++) {
    const b = { column, finish: row[column]! };
    for (let before = 0; before < column; before++) {
      const a = { column: before, finish: row[before]! };
      if (!areCompatible(table, a, b)) pairs.push({ a, b });
    }
  }
  return pairs;
}

/** One column of a table of choices: a slot and the finishes it may take, by code, in the range's order. */
export interface ChoiceColumn {
  readonly key: string;
  readonly label: string;
  readonly finishes: readonly string[];
}

/**
 * Decides which combinations are valid: columns, and for pairs of columns which finishes go together.
 * Every rule comes down to pairs, so a combination is valid when every two of its choices are compatible.
 */
export interface PairTable {
  readonly columns: readonly ChoiceColumn[];
  /**
   * For columns `a` < `b` under the key `a * columns.length + b`: a byte for each pair, at `i *
   * columns[b].finishes.length + j`, 0 where finish i of a and finish j of b are incompatible. Pairs of columns without
   * incompatible finishes are left out.
   */
  readonly barred: ReadonlyMap<number, Uint8Array>;
}

/**
 * Number of choices that one search tries before it gives up. An answer takes far fewer; a proof could take practically
 * forever.
 */
const SEARCH_LIMIT = 20_000;

/**
 * A partial combination. Finishes have one running number over all columns (`starts[column] + finish`). It knows how
 * many of the choices made bar each finish, and how many finishes each column has left.
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

  /** Whether the finish is compatible with the choices made so far. */
  isOpen(column: number, finish: number): boolean {
    return this.barring[this.starts[column]! + finish] === 0;
  }

  /**
   * Chooses a finish. Returns false and changes nothing when it is barred, or when some other column would have none
   * left.
   */
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
   * Completes the row in `row`: finishes with a higher `rate` first, and the column with the fewest finishes first.
   * Returns false, and leaves the row as it was, when there is no completion; null when the search reaches its limit.
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

/** How a walk ended: it visited all, the visitor stopped it, or it reached the work limit. */
type WalkEnd = 'all' | 'enough' | 'work-limit';

/** Number of pairs that a walk checks before it stops: some rules make almost every path a dead end. */
export const WORK_LIMIT = 100_000_000;

/**
 * Visits every valid combination of a table; the last column changes fastest. It goes depth first over the columns. A
 * choice removes the finishes it bars from later columns, so a path ends as soon as one of them has no finish left.
 * @param visit receives the index of the finish in every column, in a list that is reused; false ends the walk
 */
export function visitCombinations(
  { columns, barred }: PairTable,
  visit: (chosen: readonly number[]) => boolean,
  workLimit = WORK_LIMIT,
): WalkEnd {
  const n = columns.length;
  // how many of the choices so far bar each finish, and how many finishes of each column are not barred
  const bars = columns.map(({ finishes }) => new Int32Array(finishes.length));
  const free = columns.map(({ finishes }) => finishes.length);
  const behind = columns.map((_, a) =>
    columns.flatMap((_, b) => {
      const pairs = b > a ? barred.get(a * n + b) : undefined;
      return pairs ? [{ b, pairs }] : [];
    }),
  );
  const chosen = new Array<number>(n).fill(0);
  let work = 0;

  /** Bars (step 1) or frees (step −1) the finishes that the choice excludes; false when a column has none left. */
  const mark = (a: number, choice: number, step: 1 | -1): boolean => {
    let open = true;
    for (const { b, pairs } of behind[a]!) {
      const counts = bars[b]!;
      const start = choice * counts.length;
      work += counts.length;
      for (let j = 0; j < counts.length; j++) {
        if (pairs[start + j] !== 0) continue;
        counts[j]! += step;
        if (counts[j] === (step === 1 ? 1 : 0)) free[b]! -= step;
      }
      if (free[b] === 0) open = false;
    }
    return open;
  };

  const walk = (a: number): WalkEnd => {
    if (a === n) return visit(chosen) ? 'all' : 'enough';
    const counts = bars[a]!;
    for (let choice = 0; choice < counts.length; choice++) {
      if (counts[choice] !== 0) continue;
      if (++work > workLimit) return 'work-limit';
      chosen[a] = choice;
      const open = mark(a, choice, 1);
      const end = open ? walk(a + 1) : 'all';
      mark(a, choice, -1);
      if (end !== 'all') return end;
    }
    return 'all';
  };
  return walk(0);
}
