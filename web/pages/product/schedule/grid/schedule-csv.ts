import { foldCode } from '../../../../../server/core/codes.ts';
import { choiceOf, type Variant } from '../../../../../server/core/schedule/schedule.ts';
import type { SlotAnswer } from '../../../../../server/http/contracts/product.ts';
import { disarm, guessSeparator, parseTable, rearm, writeTable } from '../../../../parts/text-table.ts';
import { changeRows, type Draft, insertRows, type Row, removeRows, withChoice } from '../schedule-draft.ts';
import type { ReadFinish, Unread } from './paste-cells.ts';
import { fold } from './read-finish.ts';

type NamedSlot = Pick<SlotAnswer, 'slot' | 'label'>;

/** A schedule as CSV: code, name, the key of each slot, and GTINs where there are any. UTF-8 begins with a mark for spreadsheets. */
export function writeScheduleCsv(rows: readonly Row[], slots: readonly NamedSlot[]): string {
  const anyGtin = rows.some(({ gtin }) => gtin !== undefined && gtin !== '');
  const lines = rows.map(({ code, name, choices, gtin = '' }) =>
    [code, name, ...slots.map(({ slot }) => choiceOf(choices, slot) ?? ''), ...(anyGtin ? [gtin] : [])].map(disarm),
  );
  const header = ['code', 'name', ...slots.map(({ slot }) => slot), ...(anyGtin ? ['gtin'] : [])];
  return `\ufeff${writeTable([header, ...lines], ',')}\r\n`;
}

type Target = { readonly kind: 'code' | 'name' | 'gtin' } | { readonly kind: 'slot'; readonly slot: string };

export interface ImportPlan {
  /** The draft with all of it. */
  readonly draft: Draft;
  /** The same without the rows that the file does not have. */
  readonly withoutOthers: Draft;
  readonly changed: readonly {
    readonly code: string;
    readonly column: string;
    readonly from: string;
    readonly to: string;
  }[];
  readonly added: readonly string[];
  /** Codes of rows that the file does not have. */
  readonly absent: readonly string[];
  readonly unread: readonly Unread[];
  /** Rows of the file, by number, that have the code of one above. They are left out. */
  readonly repeated: readonly (readonly [row: number, code: string])[];
  /** Columns of the file that mean nothing here. */
  readonly unknown: readonly string[];
  /** False where the file has no column of codes. */
  readonly hasCodes: boolean;
}

/**
 * Plans what a file changes, without changing anything. Rows are found by their code; the columns may be in any order, named
 * by key or label. A column that the file does not have stays as it is.
 */
export function planScheduleImport(
  draft: Draft,
  text: string,
  slots: readonly NamedSlot[],
  readFinish: ReadFinish,
): ImportPlan {
  const [header = [], ...lines] = parseTable(text, guessSeparator(text));
  const targets = header.map((title) => findTarget(title, slots));
  const codeAt = targets.findIndex((target) => target?.kind === 'code');
  const unknown = header.filter((title, i) => targets[i] === null && title.trim() !== '');
  const nothing = {
    draft,
    withoutOthers: draft,
    changed: [],
    added: [],
    absent: [],
    unread: [],
    repeated: [],
    unknown,
  };
  if (codeAt < 0) return { ...nothing, hasCodes: false };

  const byCode = new Map(draft.rows.map((row) => [foldCode(row.code), row]));
  const changed: ImportPlan['changed'][number][] = [];
  const unread: Unread[] = [];
  const repeated: [row: number, code: string][] = [];
  const read = new Map<number, Row>();
  const fresh: Variant[] = [];
  const seen = new Set<string>();
  lines.forEach((cells, line) => {
    const code = rearm(cells[codeAt] ?? '').trim();
    if (cells.every((cell) => cell.trim() === '')) return;
    if (code !== '' && seen.has(foldCode(code))) {
      repeated.push([line + 2, code]);
      return;
    }
    seen.add(foldCode(code));
    const standing = byCode.get(foldCode(code));
    let next: Variant = standing ?? { code, name: '', choices: {} };
    targets.forEach((target, i) => {
      const cell = rearm(cells[i] ?? '').trim();
      if (!target || target.kind === 'code') return;
      const from = target.kind === 'slot' ? (choiceOf(next.choices, target.slot) ?? '') : (next[target.kind] ?? '');
      const finish = target.kind === 'slot' && cell !== '' ? readFinish(target.slot, cell) : null;
      if (target.kind === 'slot' && cell !== '' && finish === null) {
        unread.push({ row: line + 2, column: header[i]!, text: cell });
        return;
      }
      const to = target.kind === 'slot' ? (finish ?? '') : cell;
      if (from === to || (target.kind === 'name' && to === '')) return;
      next =
        target.kind === 'slot'
          ? { ...next, choices: withChoice(next.choices, target.slot, finish) }
          : { ...next, [target.kind]: to };
      if (standing) changed.push({ code: standing.code, column: header[i]!, from, to });
    });
    if (!standing) fresh.push(next);
    else if (next !== standing) read.set(standing.key, next as Row);
  });
  const altered = changeRows(draft, new Set(read.keys()), (row) => read.get(row.key)!);
  const all = insertRows(altered, altered.rows.length, fresh);
  const absent = draft.rows.filter(({ code }) => !seen.has(foldCode(code)));
  return {
    draft: all,
    withoutOthers: removeRows(all, new Set(absent.map(({ key }) => key))),
    changed,
    added: fresh.map(({ code }) => code),
    absent: absent.map(({ code }) => code),
    unread,
    repeated,
    unknown,
    hasCodes: true,
  };
}

function findTarget(title: string, slots: readonly NamedSlot[]): Target | null {
  const wanted = fold(title);
  if (wanted === 'code' || wanted === 'gtin') return { kind: wanted };
  const slot = slots.find((each) => fold(each.slot) === wanted) ?? slots.find((each) => fold(each.label) === wanted);
  if (slot) return { kind: 'slot', slot: slot.slot };
  return wanted.startsWith('name') ? { kind: 'name' } : null;
}
