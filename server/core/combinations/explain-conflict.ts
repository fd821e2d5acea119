import { areCompatible, type Choice, type PairTable, RowSearch } from './pair-table.ts';

/** The cause that removed finishes from a column: a choice, or (finish null) the finishes left for another column. */
export interface Removal {
  readonly column: number;
  readonly finish: number | null;
  /** The finishes it removed. Each is listed once, even where several causes would remove it. */
  readonly removes: readonly number[];
}

/** A column that lost finishes, and the finishes that were left. */
export interface ConflictStep {
  readonly column: number;
  readonly removedBy: readonly Removal[];
  readonly left: readonly number[];
}

/** Why no valid combination contains some choices. */
export interface Conflict {
  /** The choices that cause it; without any one of them this conflict would not exist. */
  readonly choices: readonly Choice[];
  /**
   * The steps that lead to it, each based on those before it. The last step is the column with no finish left.
   * Empty when only trying all combinations shows the conflict.
   */
  readonly steps: readonly ConflictStep[];
}

/** Null when the choices can be completed, and when a search reaches its limit before it knows. */
export function explainConflict(table: PairTable, fixed: ReadonlyMap<number, number>): Conflict | null {
  if (narrow(table, fixed).emptied !== null) {
    const least = dropNeedless(fixed, (choices) => narrow(table, choices).emptied !== null);
    return { choices: listChoices(least), steps: traceSteps(table, least) };
  }
  const search = new RowSearch(table);
  if (!isImpossible(search, fixed)) return null;
  return { choices: listChoices(dropNeedless(fixed, (choices) => isImpossible(search, choices))), steps: [] };
}

function listChoices(fixed: ReadonlyMap<number, number>): readonly Choice[] {
  return [...fixed].map(([column, finish]) => ({ column, finish }));
}

function dropNeedless(
  fixed: ReadonlyMap<number, number>,
  conflicts: (choices: ReadonlyMap<number, number>) => boolean,
): ReadonlyMap<number, number> {
  const least = new Map(fixed);
  // Tries to drop the latest choice first, so that the explanation names the earlier of two equal causes.
  for (const [column, finish] of [...fixed].reverse()) {
    least.delete(column);
    if (!conflicts(least)) least.set(column, finish);
  }
  return new Map([...fixed].filter(([column]) => least.has(column)));
}

function isImpossible(search: RowSearch, fixed: ReadonlyMap<number, number>): boolean {
  search.clear();
  for (const [column, finish] of fixed) if (!search.choose(column, finish)) return true;
  return search.complete(() => 0) === false;
}

interface Lost {
  readonly column: number;
  readonly finish: number;
  readonly by: number;
}

interface Narrowed {
  readonly emptied: number | null;
  /** In the order they were lost. */
  readonly lost: readonly Lost[];
}

function listInitial(table: PairTable, fixed: ReadonlyMap<number, number>): readonly number[][] {
  return table.columns.map((column, c) => {
    const chosen = fixed.get(c);
    return chosen === undefined ? [...column.finishes.keys()] : [chosen];
  });
}

/**
 * Removes every finish without a partner in some other column, choices first, until nothing changes or a column is
 * empty.
 */
function narrow(table: PairTable, fixed: ReadonlyMap<number, number>): Narrowed {
  const columns = table.columns.length;
  const left = listInitial(table, fixed).map((finishes) => new Set(finishes));
  const lost: Lost[] = [];
  const without = left.findIndex((finishes) => finishes.size === 0);
  if (without >= 0) return { emptied: without, lost };
  const pairs: (readonly [number, number])[] = [];
  for (const key of table.barred.keys()) {
    const a = Math.floor(key / columns);
    pairs.push([a, key % columns], [key % columns, a]);
  }
  const direct = pairs.filter(([, by]) => fixed.has(by));
  // Removals by choices come first, in the order of the choices.
  const order = [...fixed.keys()];
  direct.sort((x, y) => order.indexOf(x[1]) - order.indexOf(y[1]) || x[0] - y[0]);

  const revise = ([column, by]: readonly [number, number]): boolean => {
    let changed = false;
    for (const finish of left[column]!) {
      let partner = false;
      for (const other of left[by]!) {
        partner = areCompatible(table, { column, finish }, { column: by, finish: other });
        if (partner) break;
      }
      if (partner) continue;
      left[column]!.delete(finish);
      lost.push({ column, finish, by });
      changed = true;
    }
    return changed;
  };
  // A free column that choices alone empty is a better explanation than a choice that another choice rules out.
  for (const pair of direct)
    if (!fixed.has(pair[0]) && revise(pair) && left[pair[0]]!.size === 0) return { emptied: pair[0], lost };
  for (let changed = true; changed; ) {
    changed = false;
    for (const pair of pairs) {
      if (!revise(pair)) continue;
      changed = true;
      if (left[pair[0]]!.size === 0) return { emptied: pair[0], lost };
    }
  }
  return { emptied: null, lost };
}

/** The losses that led to the emptied column, and those that they depend on, column by column. */
function traceSteps(table: PairTable, fixed: ReadonlyMap<number, number>): readonly ConflictStep[] {
  const { emptied, lost } = narrow(table, fixed);
  if (emptied === null) return [];
  const initial = listInitial(table, fixed);
  const needed = new Set<number>();
  const trace = (at: number) => {
    if (needed.has(at)) return;
    needed.add(at);
    const { column, finish, by } = lost[at]!;
    // Of the other column, only lost finishes that would have been a partner matter.
    for (let before = 0; before < at; before++) {
      const earlier = lost[before]!;
      if (earlier.column !== by) continue;
      if (areCompatible(table, { column, finish }, { column: by, finish: earlier.finish })) trace(before);
    }
  };
  for (const [at, { column }] of lost.entries()) if (column === emptied) trace(at);

  const last = new Map<number, number>([[emptied, lost.length]]);
  for (const at of needed) {
    const { column } = lost[at]!;
    last.set(column, Math.max(last.get(column) ?? -1, at));
  }
  return [...last]
    .sort((a, b) => a[1] - b[1])
    .map(([column]) => {
      const losses = [...needed]
        .sort((a, b) => a - b)
        .map((at) => lost[at]!)
        .filter((loss) => loss.column === column);
      const removedBy = [...new Set(losses.map(({ by }) => by))].map((by) => ({
        column: by,
        finish: fixed.get(by) ?? null,
        removes: losses.filter((loss) => loss.by === by).map(({ finish }) => finish),
      }));
      const gone = new Set(losses.map(({ finish }) => finish));
      return { column, removedBy, left: initial[column]!.filter((finish) => !gone.has(finish)) };
    });
}

/** The finishes still possible per column, in the table's order. */
interface PossibleFinishes {
  readonly open: readonly (readonly number[])[];
  /** False when the search reached its limit for some finish; that finish is then listed as open. */
  readonly exact: boolean;
}

/**
 * The finishes that lead to a complete valid combination with the choices made (full look-ahead, not only pairs).
 * For a column with a choice: the finishes it could change to while the other choices stay.
 */
export function listPossibleFinishes(table: PairTable, choices: ReadonlyMap<number, number>): PossibleFinishes {
  const search = new RowSearch(table);
  const shown = search.sizes.map(() => new Set<number>());
  let exact = true;
  const ask = (column: number, finish: number, fixed: ReadonlyMap<number, number>) => {
    search.clear();
    for (const [other, chosen] of fixed) if (other !== column && !search.choose(other, chosen)) return;
    if (!search.choose(column, finish)) return;
    const found = search.complete((c, i) => (shown[c]!.has(i) ? 0 : 1));
    if (found === null) exact = false;
    if (found !== false) shown[column]!.add(finish);
    if (!found) return;
    // One combination is an answer for every free column, if it contains all the choices.
    const stands = [...fixed].every(([c, chosen]) => search.row[c] === chosen);
    for (const [c, i] of search.row.entries()) if (stands || c === column) shown[c]!.add(i);
  };
  for (const [column, size] of search.sizes.entries()) {
    for (let finish = 0; finish < size; finish++) if (!shown[column]!.has(finish)) ask(column, finish, choices);
  }
  return { open: shown.map((set) => [...set].sort((a, b) => a - b)), exact };
}
