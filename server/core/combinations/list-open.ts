import type { PairTable } from './pair-table.ts';
import { RowSearch } from './row-search.ts';

/** The finishes still possible per column, in the table's order. */
export interface OpenFinishes {
  readonly open: readonly (readonly number[])[];
  /** False when for some finish it was not settled within the limit of a search: it is then listed as open. */
  readonly exact: boolean;
}

/**
 * The finishes that lead to a complete valid combination with the choices made (full look-ahead, not only pair by pair).
 * For a column whose choice is made: what it could be changed to while the other choices stay.
 */
export function listOpen(table: PairTable, choices: ReadonlyMap<number, number>): OpenFinishes {
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
