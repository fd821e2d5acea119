import { choiceOf } from '../../../../../server/core/schedule/schedule.ts';
import type { Row } from '../schedule-draft.ts';
import type { GridColumn } from './grid-columns.ts';
import type { Place } from './grid-selection.ts';
import { fold } from './read-finish.ts';

/** The cells whose text has a part like `text`, row by row. None for an empty text. */
export function findCells(
  rows: readonly Row[],
  columns: readonly GridColumn[],
  text: string,
  readText: (row: Row, column: GridColumn) => string,
): Place[] {
  const wanted = fold(text);
  if (wanted === '') return [];
  // a schedule has few different texts in its slots
  const known = new Map<string, boolean>();
  const has = (cell: string) => {
    let answer = known.get(cell);
    if (answer === undefined) known.set(cell, (answer = fold(cell).includes(wanted)));
    return answer;
  };
  return rows.flatMap((each, row) =>
    columns.flatMap((each2, column): Place[] => (has(readText(each, each2)) ? [{ row, column }] : [])),
  );
}

/** The place after another one in reading order, or before it; round the end. Null without any. */
export function nextPlace(places: readonly Place[], from: Place, backwards: boolean): Place | null {
  const after = ({ row, column }: Place) => row - from.row || column - from.column;
  if (backwards) return places.findLast((place) => after(place) < 0) ?? places.at(-1) ?? null;
  return places.find((place) => after(place) > 0) ?? places[0] ?? null;
}

/** The next cell of a slot without a finish; round the end. Null when every cell has one. */
export function nextEmpty(
  rows: readonly Row[],
  columns: readonly GridColumn[],
  from: Place,
  backwards: boolean,
): Place | null {
  const width = columns.length;
  const cells = rows.length * width;
  const start = from.row * width + from.column;
  for (let step = 1; step <= cells; step++) {
    const at = (start + (backwards ? cells - step : step)) % cells;
    const column = columns[at % width]!;
    const row = rows[Math.floor(at / width)]!;
    if (column.kind === 'slot' && choiceOf(row.choices, column.slot) === undefined) {
      return { row: Math.floor(at / width), column: at % width };
    }
  }
  return null;
}
