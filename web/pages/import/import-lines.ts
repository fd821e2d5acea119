import type { RefusedRow } from '../../../server/core/import/measured-row.ts';
import type { ChangedRow, FieldChange, PlannedRow } from '../../../server/core/import/plan-import.ts';
import type { ImportAnswer } from '../../../server/http/contracts/finish-import.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { importTexts as texts } from '../../texts/import.ts';

/** A line of the file, by its outcome. */
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

/** The name of a changed field, and its change: “name”, “Tarn → Tarn blue”. */
export function describeChange({ field, before, after }: FieldChange): {
  readonly name: string;
  readonly change: string;
} {
  const fields: Readonly<Record<string, string>> = finishesTexts.fields;
  const name = fields[field] ?? field;
  if (before === null) return { name, change: after ?? '' };
  return { name, change: after === null ? texts.removed(before) : texts.changed(before, after) };
}

/** Notes on a line that can be imported, short enough for a table cell. */
export function describeNotes({
  findings,
  estimated,
  outOfGamutDeltaE,
}: Pick<PlannedRow, 'findings' | 'estimated' | 'outOfGamutDeltaE'>): string[] {
  const notes: Readonly<Record<string, string>> = texts.notes;
  return findings.map((code) => {
    if (code === 'colour-estimated' && estimated)
      return texts.estimated(estimated.typicalDeltaE, estimated.worstDeltaE);
    if (code === 'out-of-gamut') return texts.outOfGamut(outOfGamutDeltaE.toFixed(1));
    return notes[code] ?? texts.notes.other;
  });
}
