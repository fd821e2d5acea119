/** One choice: column and finish, both as places in the table. */
export interface Choice {
  readonly column: number;
  readonly finish: number;
}

/** Whether two choices may stand in one combination. Two choices of one column may not, unless they are the same. */
export function areCompatible(table: PairTable, a: Choice, b: Choice): boolean {
  if (a.column === b.column) return a.finish === b.finish;
  if (a.column > b.column) return areCompatible(table, b, a);
  const bytes = table.barred.get(a.column * table.columns.length + b.column);
  return bytes?.[a.finish * table.columns[b.column]!.finishes.length + b.finish] !== 0;
}

/** The pairs of choices in a full row, a finish for each column, that are incompatible. A valid row has none. */
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
 * All that decides which combinations are valid: columns, and for pairs of columns which finishes go together.
 * Every rule of the trade comes down to pairs, so a combination is valid when each two of its choices are.
 */
export interface PairTable {
  readonly columns: readonly ChoiceColumn[];
  /**
   * For column `a` < `b` under the key `a * columns.length + b`: a byte for each pair, at `i * columns[b].finishes.length + j`,
   * 0 where the finishes i of a and j of b are incompatible. Pairs of columns without any such pair are left out.
   */
  readonly barred: ReadonlyMap<number, Uint8Array>;
}
