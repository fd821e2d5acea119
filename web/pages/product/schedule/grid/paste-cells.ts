import type { Variant } from '../../../../../server/core/schedule/schedule.ts';
import { choiceOf } from '../../../../../server/core/schedule/schedule.ts';
import type { TextTable } from '../../../../parts/text-table.ts';
import { changeRows, type Draft, insertRows, type Row, withChoice } from '../schedule-draft.ts';
import type { Cells } from './edit-cells.ts';
import { type GridColumn, isEditable } from './grid-columns.ts';

/** A cell whose text means no finish. */
export interface Unread {
  /** Row of the pasted text, from 1. */
  readonly row: number;
  readonly column: string;
  readonly text: string;
}

export interface Pasted {
  readonly draft: Draft;
  /** Cells that have another content now. */
  readonly changed: number;
  readonly added: number;
  readonly unread: readonly Unread[];
}

/** Reads the finish that a text means in a slot; null for an unknown one. */
export type ReadFinish = (slot: string, text: string) => string | null;

/** Cells as text: finishes by their code, so that they come back as what they were. */
export function copyCells(
  rows: readonly Row[],
  columns: readonly GridColumn[],
  read: (row: Row, column: GridColumn) => string,
): string[][] {
  return rows.map((row) =>
    columns.map((column) => (column.kind === 'slot' ? (choiceOf(row.choices, column.slot) ?? '') : read(row, column))),
  );
}

/**
 * Puts a table of texts into cells, from the first on. A table that fits into the cells a whole number of times fills all of
 * them. Rows beyond the last one are added, where `mayAdd` says so. Columns that cannot be edited are passed over.
 * @param below the rows and columns from the first cell on, to the end of the grid
 */
export function pasteCells(
  draft: Draft,
  table: TextTable,
  cells: Cells,
  below: Cells,
  readFinish: ReadFinish,
  mayAdd: boolean,
): Pasted {
  const height = table.length;
  const width = Math.max(0, ...table.map((row) => row.length));
  if (height === 0 || width === 0) return { draft, changed: 0, added: 0, unread: [] };
  const isMultiple = cells.keys.length % height === 0 && cells.columns.length % width === 0;
  const keys = isMultiple ? cells.keys : below.keys.slice(0, height);
  const columns = isMultiple ? cells.columns : below.columns.slice(0, width);
  const unread: Unread[] = [];
  let changed = 0;

  const fill = (row: Row | Variant, at: number): Row | Variant => {
    const texts = table[at % height]!;
    let next = row;
    columns.forEach((column, i) => {
      const text = texts[i % width]?.trim();
      if (text === undefined || !isEditable(column)) return;
      const before = next;
      next = write(
        next,
        column,
        text,
        () => {
          if (at < height) unread.push({ row: at + 1, column: column.label, text });
        },
        readFinish,
      );
      if (next !== before) changed++;
    });
    return next;
  };

  const place = new Map(keys.map((key, at) => [key, at]));
  const filled = changeRows(draft, new Set(keys), (row) => fill(row, place.get(row.key)!) as Row);
  const missing = isMultiple || !mayAdd ? 0 : height - keys.length;
  const fresh = Array.from({ length: Math.max(0, missing) }, (_, i) =>
    fill({ code: '', name: '', choices: {} }, keys.length + i),
  );
  return {
    draft: fresh.length > 0 ? insertRows(filled, filled.rows.length, fresh) : filled,
    changed,
    added: fresh.length,
    unread,
  };
}

function write<T extends Variant>(
  row: T,
  column: GridColumn,
  text: string,
  refuse: () => void,
  readFinish: ReadFinish,
): T {
  if (column.kind !== 'slot') {
    const kind = column.kind as 'code' | 'name' | 'gtin';
    return (row[kind] ?? '') === text ? row : { ...row, [kind]: text };
  }
  const finish = text === '' ? null : readFinish(column.slot, text);
  if (text !== '' && finish === null) {
    refuse();
    return row;
  }
  const choices = withChoice(row.choices, column.slot, finish);
  return choices === row.choices ? row : { ...row, choices };
}
