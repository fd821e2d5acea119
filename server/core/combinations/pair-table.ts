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
   * 0 where the finishes i of a and j of b may not meet. Pairs of columns without any such pair are left out.
   */
  readonly barred: ReadonlyMap<number, Uint8Array>;
}
