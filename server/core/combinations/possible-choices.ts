import { describeConflict, explainConflict } from './explain-conflict.ts';
import type { Choice, PairTable } from './pair-compatibility.ts';
import { RowSearch } from './row-search.ts';

/** The finishes still possible per column, in the table's order. */
export interface PossibleFinishes {
  readonly open: readonly (readonly number[])[];
  /** False when for some finish it was not settled within the limit of a search: it is then listed as open. */
  readonly exact: boolean;
}

/**
 * The finishes that lead to a complete valid combination with the choices made (full look-ahead, not only pair by pair).
 * For a column whose choice is made: what it could be changed to while the other choices stay.
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
    // One combination answers for every column that is free, as long as all the choices stand in it.
    const stands = [...fixed].every(([c, chosen]) => search.row[c] === chosen);
    for (const [c, i] of search.row.entries()) if (stands || c === column) shown[c]!.add(i);
  };
  for (const [column, size] of search.sizes.entries()) {
    for (let finish = 0; finish < size; finish++) if (!shown[column]!.has(finish)) ask(column, finish, choices);
  }
  return { open: shown.map((set) => [...set].sort((a, b) => a - b)), exact };
}

/** A finish that no valid combination holds, and why. */
export interface ImpossibleChoice extends Choice {
  readonly because: string;
}

export interface ImpossibleChoices {
  /** Why there is no valid combination at all; null when there is one, or that was not settled. */
  readonly none: string | null;
  /** Finishes that are in no valid combination; empty when nothing is. */
  readonly choices: readonly ImpossibleChoice[];
  /** How many more there are than are listed. */
  readonly more: number;
}

/** Explanations given at most: a rule that shuts out hundreds says the same of each. */
const MAX_LISTED = 40;

/** The choices that rules leave nothing for: they are offered, and can never be sold. */
export function listImpossibleChoices(table: PairTable, limit = MAX_LISTED): ImpossibleChoices {
  const { open } = listPossibleFinishes(table, new Map());
  if (table.columns.length > 0 && open.every((finishes) => finishes.length === 0)) {
    const conflict = explainConflict(table, new Map());
    return { none: conflict && describeConflict(table, conflict), choices: [], more: 0 };
  }
  const shut = table.columns.flatMap(({ finishes }, column) => {
    const possible = new Set(open[column]);
    return [...finishes.keys()].flatMap((finish) => (possible.has(finish) ? [] : [{ column, finish }]));
  });
  const choices = shut.slice(0, limit).flatMap((choice) => {
    const conflict = explainConflict(table, new Map([[choice.column, choice.finish]]));
    return conflict ? [{ ...choice, because: describeConflict(table, conflict) }] : [];
  });
  return { none: null, choices, more: shut.length - choices.length };
}
