import type { FieldChange } from '../../../server/core/import/list-changes.ts';
import type { RefusedRow } from '../../../server/core/import/measured-row.ts';
import type { ChangedRow, PlannedRow } from '../../../server/core/import/plan-import.ts';
import type { ImportAnswer } from '../../../server/http/contracts/finish-import.ts';

/** A line of a dry run, by what comes of it. */
export type ImportLine =
  | { readonly kind: 'created'; readonly row: PlannedRow }
  | { readonly kind: 'changed'; readonly row: ChangedRow }
  | { readonly kind: 'unchanged'; readonly row: PlannedRow }
  | { readonly kind: 'refused'; readonly row: RefusedRow };

export const LINE_KINDS = ['created', 'changed', 'unchanged', 'refused'] as const;
export type LineKind = (typeof LINE_KINDS)[number];

/** All lines in the order of the file. */
export function listLines(answer: ImportAnswer): ImportLine[] {
  const lines: ImportLine[] = [
    ...answer.created.map((row) => ({ kind: 'created' as const, row })),
    ...answer.changed.map((row) => ({ kind: 'changed' as const, row })),
    ...answer.unchanged.map((row) => ({ kind: 'unchanged' as const, row })),
    ...answer.refused.map((row) => ({ kind: 'refused' as const, row })),
  ];
  return lines.sort((a, b) => a.row.line - b.row.line);
}

const FIELDS: Readonly<Record<string, string>> = {
  names: 'other names',
  display: 'screen colour',
  gloss: 'gloss',
};

/** `name`, `from “Tarn” to “Tarn blue”`; a colour's chips stand beside it. */
export function describeChange({ field, before, after }: FieldChange): { readonly what: string; readonly how: string } {
  const what = FIELDS[field] ?? field;
  if (before === null) return { what, how: after ?? '' };
  if (after === null) return { what, how: `${before}, taken off` };
  return { what, how: `${before} → ${after}` };
}
