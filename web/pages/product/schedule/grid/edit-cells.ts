import { foldCode } from '../../../../../server/core/codes.ts';
import { choiceOf } from '../../../../../server/core/schedule/schedule.ts';
import { changeRows, type Draft, type Row, withChoice } from '../schedule-draft.ts';
import type { GridColumn } from './grid-columns.ts';
import { type TextsOf, useTemplate } from './row-texts.ts';

/** Cells of a draft: whole rows by key in the order shown, and columns. */
export interface Cells {
  readonly keys: readonly number[];
  readonly columns: readonly GridColumn[];
}

/** Puts a finish into every cell of a slot among these, or empties them. */
export function setFinish(draft: Draft, { keys, columns }: Cells, finish: string | null): Draft {
  const slots = columns.flatMap((column) => (column.kind === 'slot' ? [column.slot] : []));
  return changeRows(draft, new Set(keys), (row) => {
    const choices = slots.reduce((all, slot) => withChoice(all, slot, finish), row.choices);
    return choices === row.choices ? row : { ...row, choices };
  });
}

export function setText(draft: Draft, key: number, kind: 'code' | 'name' | 'gtin', text: string): Draft {
  return setTexts(draft, new Set([key]), kind, text);
}

function setTexts(draft: Draft, keys: ReadonlySet<number>, kind: 'code' | 'name' | 'gtin', text: string): Draft {
  return changeRows(draft, keys, (row) => {
    if ((row[kind] ?? '') === text) return row;
    if (kind !== 'gtin' || text !== '') return { ...row, [kind]: text };
    const { gtin: _, ...rest } = row;
    return rest;
  });
}

/** Empties cells. A code or a name that is deleted is again what the template gives. */
export function clearCells(draft: Draft, cells: Cells, textsOf: TextsOf): Draft {
  const kinds = new Set(cells.columns.map(({ kind }) => kind));
  const keys = new Set(cells.keys);
  const bare = setFinish(draft, cells, null);
  const next = kinds.has('gtin') ? setTexts(bare, keys, 'gtin', '') : bare;
  const none = new Set<number>();
  if (!kinds.has('name') && !kinds.has('code')) return next;
  return useTemplate(next, kinds.has('name') ? keys : none, textsOf, kinds.has('code') ? keys : none);
}

/** Puts the finishes of the first row into all rows below it. */
export function fillDown(draft: Draft, { keys, columns }: Cells): Draft {
  const first = draft.rows.find(({ key }) => key === keys[0]);
  if (!first) return draft;
  return columns.reduce(
    (next, column) =>
      column.kind === 'slot'
        ? setFinish(next, { keys: keys.slice(1), columns: [column] }, choiceOf(first.choices, column.slot) ?? null)
        : next,
    draft,
  );
}

/** A cell in which one finish would take the place of another. */
export interface Replacement {
  readonly row: Row;
  readonly slot: string;
}

/** The cells among these that have a finish. */
export function listUses(draft: Draft, { keys, columns }: Cells, finish: string): Replacement[] {
  const asked = new Set(keys);
  const wanted = foldCode(finish);
  const slots = columns.flatMap((column) => (column.kind === 'slot' ? [column.slot] : []));
  return draft.rows.flatMap((row) =>
    asked.has(row.key)
      ? slots.flatMap((slot) => (foldCode(choiceOf(row.choices, slot) ?? '') === wanted ? [{ row, slot }] : []))
      : [],
  );
}

/** Puts a finish, or none, into the cells that `listUses` found. */
export function replaceFinish(draft: Draft, uses: readonly Replacement[], finish: string | null): Draft {
  const slots = new Map<number, string[]>();
  for (const { row, slot } of uses) slots.set(row.key, [...(slots.get(row.key) ?? []), slot]);
  return changeRows(draft, new Set(slots.keys()), (row) => ({
    ...row,
    choices: (slots.get(row.key) ?? []).reduce((all, slot) => withChoice(all, slot, finish), row.choices),
  }));
}

/** How many rows are not allowed once all of these cells are replaced. */
export function countBroken(
  draft: Draft,
  uses: readonly Replacement[],
  finish: string | null,
  isAllowed: (choices: Row['choices']) => boolean,
): number {
  const keys = new Set(uses.map(({ row }) => row.key));
  const { rows } = replaceFinish(draft, uses, finish);
  return rows.filter((row) => keys.has(row.key) && !isAllowed(row.choices)).length;
}

/** Finishes that stand in a slot of these cells, each once with the number of cells, most first. */
export function countFinishes(draft: Draft, { keys, columns }: Cells): { finish: string; cells: number }[] {
  const asked = new Set(keys);
  const counts = new Map<string, { finish: string; cells: number }>();
  for (const row of draft.rows) {
    if (!asked.has(row.key)) continue;
    for (const column of columns) {
      const finish = column.kind === 'slot' ? choiceOf(row.choices, column.slot) : undefined;
      if (finish === undefined) continue;
      const known = counts.get(foldCode(finish));
      if (known) known.cells++;
      else counts.set(foldCode(finish), { finish, cells: 1 });
    }
  }
  return [...counts.values()].sort((a, b) => b.cells - a.cells || (a.finish < b.finish ? -1 : 1));
}

/** How many cells of slots have no finish. */
export function countEmpty(rows: readonly Row[], slots: readonly string[]): number {
  let empty = 0;
  for (const { choices } of rows) for (const slot of slots) if (choiceOf(choices, slot) === undefined) empty++;
  return empty;
}
