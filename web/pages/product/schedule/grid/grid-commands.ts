import { batch } from '@preact/signals';
import { parseTable, writeTable } from '../../../../parts/text-table.ts';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import { addRow, type Draft, duplicateRows, moveRows, orderRows, removeRows, setDefault } from '../schedule-draft.ts';
import { clearCells, fillDown, setFinish, setText } from './edit-cells.ts';
import { nextEmpty, nextPlace } from './find-cells.ts';
import { type GridColumn, isEditable } from './grid-columns.ts';
import type { GridModel } from './grid-model.ts';
import { at, boxOf } from './grid-selection.ts';
import { copyCells, pasteCells, type Unread } from './paste-cells.ts';
import { useTemplate } from './row-texts.ts';

/** Cells of a paste that are named one by one. */
const UNREAD_NAMED = 12;

/** Puts a finish, or none, into every selected cell of a slot. */
export function chooseFinish(grid: GridModel, finish: string | null): void {
  const cells = grid.cells();
  const count = cells.keys.length * grid.selectedSlots.value.length;
  if (count === 0) return;
  grid.edit(texts.steps.finishes(count), (draft) => setFinish(draft, cells, finish));
  if (finish !== null) grid.remember(finish);
  grid.told.value = texts.setTo(finish === null ? texts.noFinish : (grid.getFinish(finish)?.name ?? finish), count);
}

/** Opens the finishes for the selected cells, or the text of a cell to write in. Letters that were typed come with it. */
export function openCell(grid: GridModel, typed: string | null): void {
  const [row, column] = [grid.cursorRow.value, grid.cursorColumn.value];
  if (!row || !column) return;
  if (column.kind === 'slot' || (column.kind === 'picture' && grid.selectedSlots.value.length > 0)) {
    grid.openFinishes(typed ?? '');
  } else if (isEditable(column)) {
    grid.editing.value = { key: row.key, column: column.id, text: typed ?? grid.read(row, column) };
  }
}

/** Ends writing in a cell. @param move rows that the cursor moves then */
export function commitText(grid: GridModel, text: string, move: number): void {
  const open = grid.editing.value;
  const column = grid.columns.value.find(({ id }) => id === open?.column);
  if (!open || !column) return;
  grid.editing.value = null;
  if (column.kind === 'code' || column.kind === 'name' || column.kind === 'gtin') {
    grid.edit(texts.steps.text, (draft) => setText(draft, open.key, column.kind as 'name', text.trim()));
  }
  const { cursor } = grid.selection.value;
  if (move !== 0) grid.goTo({ row: Math.max(0, cursor.row + move), column: cursor.column });
}

export function clear(grid: GridModel, label: string = texts.steps.clear): void {
  const cells = grid.cells();
  grid.edit(label, (draft) => clearCells(draft, cells, grid.textsOf.value));
  grid.told.value = texts.cleared(cells.keys.length * cells.columns.filter(isEditable).length);
}

/** Fills the first selected row into the others; with one row selected, the row above into it. */
export function fill(grid: GridModel): void {
  const cells = grid.cells();
  const { top } = boxOf(grid.selection.value);
  const above = cells.keys.length === 1 ? grid.shown.value[top - 1] : undefined;
  const keys = above ? [above.key, ...cells.keys] : cells.keys;
  grid.edit(texts.steps.fill, (draft) => fillDown(draft, { ...cells, keys }));
}

export function copyText(grid: GridModel): string {
  const { top, bottom } = boxOf(grid.selection.value);
  const { columns } = grid.cells();
  const rows = grid.shown.value.slice(Math.max(0, top), bottom + 1);
  grid.told.value = texts.copied(rows.length, columns.length);
  return writeTable(copyCells(rows, columns, grid.read), '\t');
}

export function pasteText(grid: GridModel, text: string): void {
  if (text.trim() === '') {
    grid.told.value = texts.nothingToPaste;
    return;
  }
  const table = parseTable(text, '\t');
  const { top, left } = boxOf(grid.selection.value);
  const shown = grid.shown.value;
  const columns = grid.columns.value;
  const below = { keys: shown.slice(Math.max(0, top)).map(({ key }) => key), columns: columns.slice(left) };
  let result: ReturnType<typeof pasteCells> | null = null;
  const cells = grid.cells();
  // rows that a filter hides would stand between the last one shown and a new one
  const mayAdd = grid.filters.value.size === 0 && grid.order.value === null;
  const before = new Set(grid.schedule.draft.value.rows.map(({ key }) => key));
  grid.edit(texts.steps.paste, (draft) => {
    result = pasteCells(draft, table, cells, below, grid.readFinish, mayAdd);
    return nameNewRows(grid, result.draft, before);
  });
  const { changed, added, unread } = result!;
  grid.told.value = [texts.pasted(changed, added), describeUnread(unread)].filter(Boolean).join(' ');
  const height = Math.max(cells.keys.length, table.length);
  const width = Math.max(cells.columns.length, ...table.map((row) => row.length));
  const last = grid.size.value;
  grid.select({
    anchor: { row: Math.max(0, top), column: left },
    cursor: {
      row: Math.min(last.rows, Math.max(0, top) + height) - 1,
      column: Math.min(last.columns, left + width) - 1,
    },
  });
}

/** New rows without a code or a name get those of the template. */
export function nameNewRows(grid: GridModel, draft: Draft, before: ReadonlySet<number>): Draft {
  const fresh = draft.rows.filter(({ key }) => !before.has(key));
  const keys = (field: 'code' | 'name') => new Set(fresh.flatMap((row) => (row[field] === '' ? [row.key] : [])));
  return useTemplate(draft, keys('name'), grid.textsOf.value, keys('code'));
}

export function describeUnread(unread: readonly Unread[]): string {
  if (unread.length === 0) return '';
  const named = unread.slice(0, UNREAD_NAMED).map(({ row, column, text }) => texts.unreadCell(row, column, text));
  return `${texts.unreadCells(unread.length)} ${named.join('; ')}${unread.length > UNREAD_NAMED ? ' …' : '.'}`;
}

const selectedKeys = (grid: GridModel): ReadonlySet<number> => new Set(grid.cells().keys);

export function duplicate(grid: GridModel): void {
  const keys = selectedKeys(grid);
  grid.edit(texts.steps.duplicate, (draft) => duplicateRows(draft, keys));
}

export function remove(grid: GridModel): void {
  const keys = selectedKeys(grid);
  const { top } = boxOf(grid.selection.value);
  batch(() => {
    grid.edit(texts.steps.remove, (draft) => removeRows(draft, keys));
    grid.goTo({ row: Math.max(0, top), column: grid.selection.value.cursor.column });
  });
}

/** Moves the selected rows; only in the order of the schedule, since another order does not show it. */
export function move(grid: GridModel, by: 1 | -1): void {
  if (grid.order.value) return;
  const keys = selectedKeys(grid);
  const { anchor, cursor } = grid.selection.value;
  const first = grid.shown.value.findIndex(({ key }) => keys.has(key));
  grid.edit(texts.steps.move, (draft) => moveRows(draft, keys, by));
  const shift = grid.shown.value.findIndex(({ key }) => keys.has(key)) - first;
  grid.select({
    anchor: { ...anchor, row: anchor.row + shift },
    cursor: { ...cursor, row: cursor.row + shift },
  });
}

export function makeDefault(grid: GridModel): void {
  const row = grid.cursorRow.value;
  if (row) grid.edit(texts.steps.makeDefault, (draft) => setDefault(draft, row.key));
}

/** Adds a row at the end, named by the template, and goes to its first slot. */
export function add(grid: GridModel): void {
  const before = new Set(grid.schedule.draft.value.rows.map(({ key }) => key));
  grid.edit(texts.steps.add, (draft) => addRow(draft));
  const row = grid.shown.value.findIndex(({ key }) => !before.has(key));
  const column = grid.columns.value.findIndex(({ kind }) => kind === 'slot');
  grid.select(at({ row: Math.max(0, row), column: Math.max(1, column) }));
}

/** Puts the rows of the schedule into the order that is shown. */
export function keepOrder(grid: GridModel): void {
  const keys = grid.shown.value.map(({ key }) => key);
  grid.edit(texts.steps.order, (draft) => orderRows(draft, keys));
  grid.arrange(grid.filters.value, null);
}

/** Renames every row whose name mentions a finish that the row does not have. */
export function fixNames(grid: GridModel): void {
  const keys = new Set(grid.misnamedRows.value.map(({ key }) => key));
  grid.edit(texts.steps.rename, (draft) => useTemplate(draft, keys, grid.textsOf.value));
}

/** Goes to the next empty cell. @returns false when there is none */
export function goToEmpty(grid: GridModel, backwards = false): boolean {
  const place = nextEmpty(grid.shown.value, grid.columns.value, grid.selection.value.cursor, backwards);
  if (place) grid.select(at(place));
  else grid.told.value = texts.emptyCells(0);
  return place !== null;
}

/** Goes to the next row that breaks options or rules. */
export function goToNotAllowed(grid: GridModel): void {
  const keys = new Set(grid.notAllowed.value.map(({ key }) => key));
  const { cursor } = grid.selection.value;
  const rows = grid.shown.value.flatMap(({ key }, row) => (keys.has(key) ? [{ row, column: cursor.column }] : []));
  const place = nextPlace(rows, cursor, false);
  if (place) grid.select(at(place));
}

export function goToHit(grid: GridModel, backwards = false): void {
  const place = nextPlace(grid.hits.value, grid.selection.value.cursor, backwards);
  if (place) grid.select(at(place));
}

export const isWidening = (column: GridColumn, key: string) =>
  column.kind !== 'picture' && (key === 'ArrowLeft' || key === 'ArrowRight');
