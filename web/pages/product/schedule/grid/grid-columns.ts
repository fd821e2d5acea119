import { foldCode } from '../../../../../server/core/codes.ts';
import { choiceOf } from '../../../../../server/core/schedule/schedule.ts';
import type { SlotAnswer } from '../../../../../server/http/contracts/product.ts';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import type { Row } from '../schedule-draft.ts';

interface Column {
  /** Stays the same when columns come and go. */
  readonly id: string;
  readonly label: string;
  /** Width at first, in CSS px. */
  readonly widthPx: number;
}

export interface SlotColumn extends Column {
  readonly kind: 'slot';
  readonly slot: string;
}

export interface PlainColumn extends Column {
  readonly kind: 'picture' | 'code' | 'name' | 'gtin' | 'approval' | 'state';
}

export type GridColumn = SlotColumn | PlainColumn;

/** Columns that stay in sight while the others scroll. */
export const STICKY = 3;

const plain = (kind: PlainColumn['kind'], widthPx: number): PlainColumn => ({
  kind,
  id: kind,
  label: texts.columns[kind],
  widthPx,
});

/** The columns of the grid: picture, code, name, one for each slot, GTIN, approval, state. */
export function listColumns(slots: readonly Pick<SlotAnswer, 'slot' | 'label'>[]): GridColumn[] {
  return [
    plain('picture', 56),
    plain('code', 128),
    plain('name', 216),
    ...slots.map(({ slot, label }): SlotColumn => ({ kind: 'slot', id: `slot ${slot}`, slot, label, widthPx: 176 })),
    plain('gtin', 136),
    plain('approval', 112),
    plain('state', 128),
  ];
}

/** What a column shows that the row itself does not have, in words. */
export interface RowWords {
  approval(row: Row): string;
  state(row: Row): string;
}

/** The value of a cell, by which rows are filtered and sorted. Empty for an empty cell. */
export function readCell(row: Row, column: GridColumn, words: RowWords): string {
  switch (column.kind) {
    case 'slot':
      return foldCode(choiceOf(row.choices, column.slot) ?? '');
    case 'code':
      return row.code;
    case 'name':
      return row.name;
    case 'gtin':
      return row.gtin ?? '';
    case 'approval':
    case 'state':
      return words[column.kind](row);
    case 'picture':
      return '';
  }
}

export const isEditable = ({ kind }: GridColumn) =>
  kind === 'slot' || kind === 'code' || kind === 'name' || kind === 'gtin';
