import type { Row } from '../schedule-draft.ts';
import type { GridColumn } from './grid-columns.ts';

/** The values of a column that are shown, by the id of the column. A column that is not named shows all. */
export type Filters = ReadonlyMap<string, ReadonlySet<string>>;

export interface Order {
  readonly column: string;
  readonly descending: boolean;
}

/** Reads the value of a cell. */
export type ReadCell = (row: Row, column: GridColumn) => string;

/** The keys of the rows that every filter lets through, in the order asked for. */
export function arrangeRows(
  rows: readonly Row[],
  columns: readonly GridColumn[],
  filters: Filters,
  order: Order | null,
  read: ReadCell,
  label: ReadCell = read,
): number[] {
  const kept = filterRows(rows, columns, filters, read);
  const column = order && columns.find(({ id }) => id === order.column);
  if (!column) return kept.map(({ key }) => key);
  const { compare } = new Intl.Collator('en', { numeric: true, sensitivity: 'base' });
  const listed = kept.map((row) => ({ key: row.key, text: label(row, column) }));
  const sign = order.descending ? -1 : 1;
  // empty cells come last in both directions
  listed.sort((a, b) =>
    a.text === '' || b.text === '' ? rank(a.text) - rank(b.text) : sign * compare(a.text, b.text),
  );
  return listed.map(({ key }) => key);
}

const rank = (text: string) => (text === '' ? 1 : 0);

function filterRows(
  rows: readonly Row[],
  columns: readonly GridColumn[],
  filters: Filters,
  read: ReadCell,
): readonly Row[] {
  const active = columns.flatMap((column) => {
    const values = filters.get(column.id);
    return values ? [{ column, values }] : [];
  });
  if (active.length === 0) return rows;
  return rows.filter((row) => active.every(({ column, values }) => values.has(read(row, column))));
}

export interface ValueCount {
  readonly value: string;
  readonly rows: number;
}

/** How many rows have each value of a column, most first, among the rows that the other filters let through. */
export function countValues(
  rows: readonly Row[],
  columns: readonly GridColumn[],
  filters: Filters,
  column: GridColumn,
  read: ReadCell,
): ValueCount[] {
  const others = new Map([...filters].filter(([id]) => id !== column.id));
  const counts = new Map<string, number>();
  for (const row of filterRows(rows, columns, others, read)) {
    const value = read(row, column);
    counts.set(value, (counts.get(value) ?? 0) + 1);
  }
  return [...counts]
    .map(([value, count]) => ({ value, rows: count }))
    .sort((a, b) => b.rows - a.rows || (a.value < b.value ? -1 : 1));
}

/**
 * Keeps an arrangement after rows came or went, without filtering or sorting again: a row that is edited stays where it is.
 * New rows follow the row before them.
 * @param known keys of all rows at the time of the arrangement, also of those it leaves out
 */
export function keepArrangement(
  shown: readonly number[],
  known: ReadonlySet<number>,
  rows: readonly Row[],
): readonly number[] {
  const there = new Set<number>();
  const added = new Map<number | null, number[]>();
  const standing = new Set(shown);
  let before: number | null = null;
  for (const { key } of rows) {
    there.add(key);
    if (standing.has(key)) before = key;
    else if (!known.has(key)) {
      const list = added.get(before);
      if (list) list.push(key);
      else added.set(before, [key]);
    }
  }
  return [
    ...(added.get(null) ?? []),
    ...shown.flatMap((key) => [...(there.has(key) ? [key] : []), ...(added.get(key) ?? [])]),
  ];
}
