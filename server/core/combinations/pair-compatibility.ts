import type { PairTable } from './pair-table.ts';

/** One choice: column and finish, both as places in the table. */
export interface Choice {
  readonly column: number;
  readonly finish: number;
}

/** Whether two choices may stand in one combination. Two choices of one column may not, unless they are the same. */
export function mayMeet(table: PairTable, a: Choice, b: Choice): boolean {
  if (a.column === b.column) return a.finish === b.finish;
  if (a.column > b.column) return mayMeet(table, b, a);
  const bytes = table.barred.get(a.column * table.columns.length + b.column);
  return bytes?.[a.finish * table.columns[b.column]!.finishes.length + b.finish] !== 0;
}

/** The pairs of choices in a full row, a finish for each column, that may not meet. A valid row has none. */
export function listBarredPairs(
  table: PairTable,
  row: readonly number[],
): readonly { readonly a: Choice; readonly b: Choice }[] {
  const pairs: { a: Choice; b: Choice }[] = [];
  for (let column = 0; column < row.length; column++) {
    const b = { column, finish: row[column]! };
    for (let before = 0; before < column; before++) {
      const a = { column: before, finish: row[before]! };
      if (!mayMeet(table, a, b)) pairs.push({ a, b });
    }
  }
  return pairs;
}
