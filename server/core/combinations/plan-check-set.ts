import { coverPairs, makeRandom, PairCover, shrinkRows } from './covering-array.ts';
import { countOrthogonalRows, planBinaryRows, planOrthogonalRows } from './orthogonal-array.ts';
import { areCompatible, listIncompatiblePairs, type PairTable, RowSearch } from './pair-table.ts';

/** What a check set shows: every finish once, or every allowed pair of finishes once. */
export type CheckSetKind = 'each-finish' | 'pairs';

/** Valid combinations to check, as finishes per column. */
export interface CheckSet {
  /** The rows to add to the existing ones. */
  readonly rows: readonly (readonly number[])[];
  /** Number of existing rows that are valid, and so count. */
  readonly standing: number;
  /** Number of finishes, or pairs of them, that occur in a valid combination: the set covers all of them. */
  readonly covered: number;
  /** Finishes or pairs that are in no valid combination. */
  readonly impossible: number;
  /** Number of impossible ones for which the search reached its limit. */
  readonly unsettled: number;
  /**
   * Without rules no set has fewer rows, existing ones included: the largest column, or the product of the two largest.
   */
  readonly bound: number;
}

/** Orthogonal arrays with more rows than this are not built. */
const MAX_ORTHOGONAL_ROWS = 200_000;

/**
 * With more pairs than this, a set starts from an orthogonal array if there is one: starting from nothing would take
 * minutes.
 */
const MAX_GREEDY_PAIRS = 100_000;

/** Number of places checked while rows are removed: about half a second. */
const SHRINK_LIMIT = 4_000_000;

/** Any number would do; changing it changes which rows are planned. */
const SEED = 4;

/** Finds a small set of combinations that shows everything in a table. Existing rows that are valid count as shown. */
export function planCheckSet(
  table: PairTable,
  kind: CheckSetKind,
  standing: readonly (readonly number[])[] = [],
): CheckSet {
  const valid = standing.filter((row) => isFull(table, row) && listIncompatiblePairs(table, row).length === 0);
  const sizes = table.columns.map((column) => column.finishes.length).sort((a, b) => b - a);
  if (sizes.length === 0)
    return { rows: [], standing: valid.length, covered: 0, impossible: 0, unsettled: 0, bound: 0 };
  if (kind === 'each-finish' || sizes.length === 1) return { ...coverFinishes(table, valid), bound: sizes[0]! };
  return { ...coverAllPairs(table, valid), bound: sizes[0]! * sizes[1]! };
}

function coverFinishes(table: PairTable, standing: readonly (readonly number[])[]): Omit<CheckSet, 'bound'> {
  const search = new RowSearch(table);
  const open = search.sizes.map((size) => new Set(Array.from({ length: size }, (_, finish) => finish)));
  let unsettled = 0;
  let impossible = 0;
  const show = (row: readonly number[]) => {
    for (const [column, finish] of row.entries()) open[column]!.delete(finish);
  };
  for (const row of standing) show(row);
  const rows: number[][] = [];
  for (;;) {
    let column = 0;
    for (let c = 1; c < open.length; c++) if (open[c]!.size > open[column]!.size) column = c;
    const [finish] = open[column]!;
    if (finish === undefined) break;
    search.clear();
    // Finishes not shown yet come before all others.
    const found = search.choose(column, finish) ? search.complete((c, i) => (open[c]!.has(i) ? 1 : 0)) : false;
    if (found) {
      rows.push([...search.row]);
      show(search.row);
    } else {
      impossible++;
      if (found === null) unsettled++;
      open[column]!.delete(finish);
    }
  }
  const covered = search.sizes.reduce((sum, size) => sum + size, 0) - impossible;
  return { rows, standing: standing.length, covered, impossible, unsettled };
}

function coverAllPairs(table: PairTable, standing: readonly (readonly number[])[]): Omit<CheckSet, 'bound'> {
  const search = new RowSearch(table);
  const { sizes } = search;
  if (sizes.some((size) => size === 0)) {
    return { rows: [], standing: 0, covered: 0, impossible: 0, unsettled: 0 };
  }
  const starts: (readonly (readonly number[])[])[] = [];
  if (sizes.every((size) => size <= 2)) starts.push(fitBinary(sizes));
  if (countOrthogonalRows(sizes) <= MAX_ORTHOGONAL_ROWS) starts.push(planOrthogonalRows(sizes));
  if (starts.length === 0 || countPairs(sizes) <= MAX_GREEDY_PAIRS) starts.push([]);

  let best: Plan | undefined;
  for (const start of starts) {
    const plan = planFrom(table, search, standing, start, best?.rows.length);
    if (plan && (!best || plan.rows.length < best.rows.length)) best = plan;
  }
  const { cover, rows, unsettled } = best!;
  const covered = cover.wanted.reduce((sum, wanted) => sum + wanted, 0);
  return {
    rows: shrinkRows(search, cover, rows, makeRandom(SEED), SHRINK_LIMIT),
    standing: standing.length,
    covered,
    impossible: countPairs(sizes) - covered,
    unsettled,
  };
}

/** Pairs of finishes of different columns. */
function countPairs(sizes: readonly number[]): number {
  const sum = sizes.reduce((total, size) => total + size, 0);
  return sizes.reduce((total, size) => total + size * (sum - size), 0) / 2;
}

interface Plan {
  readonly rows: readonly (readonly number[])[];
  readonly cover: PairCover;
  readonly unsettled: number;
}

/** Rows for columns of one or two finishes. */
function fitBinary(sizes: readonly number[]): number[][] {
  return planBinaryRows(sizes.length).map((row) => row.map((finish, column) => Math.min(finish, sizes[column]! - 1)));
}

/**
 * Makes a check set from rows that were planned without rules or existing rows; −1 in them is any finish.
 * Undefined once it would have as many rows as the best set so far.
 */
function planFrom(
  table: PairTable,
  search: RowSearch,
  standing: readonly (readonly number[])[],
  laidOut: readonly (readonly number[])[],
  known = Number.POSITIVE_INFINITY,
): Plan | undefined {
  const random = makeRandom(SEED);
  const cover = new PairCover(search);
  wantAllowed(table, cover);
  for (const row of standing) cover.add(row, 1);

  // Keep as much of each row as possible, and count all of them first. Filling their gaps then knows what is still
  // missing.
  const partial = laidOut.map((row) => keepValid(search, row));
  for (const row of partial) cover.add(row, 1);
  const rows: number[][] = [];
  for (const row of partial) {
    search.clear();
    for (const [column, finish] of row.entries()) if (finish >= 0) search.choose(column, finish);
    cover.add(row, -1);
    const rate = (column: number, finish: number) => cover.rate(search.row, column, finish) + random();
    // Adds no row whose pairs existing rows, or earlier fillings, show already.
    if (!search.complete(rate) || !cover.addsAnything(search.row)) continue;
    rows.push([...search.row]);
    cover.add(search.row, 1);
  }
  const added = coverPairs(search, cover, random, known - rows.length);
  return added && { rows: [...rows, ...added.rows], cover, unsettled: added.unsettled };
}

function wantAllowed(table: PairTable, cover: PairCover): void {
  const { sizes } = cover;
  for (let b = 1; b < sizes.length; b++) {
    for (let a = 0; a < b; a++) {
      for (let i = 0; i < sizes[a]!; i++) {
        for (let j = 0; j < sizes[b]!; j++) {
          if (areCompatible(table, { column: a, finish: i }, { column: b, finish: j })) cover.want(a, i, b, j, true);
        }
      }
    }
  }
}

/**
 * The row with gaps where a finish is incompatible with those before it, or would leave another column without a
 * finish.
 */
function keepValid(search: RowSearch, row: readonly number[]): number[] {
  search.clear();
  return row.map((finish, column) => (finish >= 0 && search.choose(column, finish) ? finish : -1));
}

function isFull(table: PairTable, row: readonly number[]): boolean {
  return (
    row.length === table.columns.length &&
    row.every(
      (finish, column) => Number.isInteger(finish) && finish >= 0 && finish < table.columns[column]!.finishes.length,
    )
  );
}
