import { CODE_PATTERN, foldCode, NAME_LENGTH } from '../../../../server/core/codes.ts';
import { readGtin } from '../../../../server/core/picture/file-name.ts';
import { Problem } from '../../../../server/core/problems.ts';
import { commonTexts } from '../../../texts/common.ts';
import { scheduleTexts } from '../../../texts/product-schedule.ts';
import type { Draft, Row } from './schedule-edit.ts';

export type RowState = 'saved' | 'changed' | 'new';

export interface Changes {
  /** The state of each row of the draft, by key. */
  readonly rows: ReadonlyMap<number, RowState>;
  readonly changed: number;
  readonly added: number;
  readonly removed: number;
  readonly reordered: boolean;
  readonly defaultChanged: boolean;
  readonly any: boolean;
}

/** How a draft differs from the saved schedule. A row that was changed back counts as saved. */
export function listChanges(saved: Draft, draft: Draft): Changes {
  const before = new Map(saved.rows.map((row) => [row.key, row]));
  const rows = new Map(
    draft.rows.map((row): [number, RowState] => {
      const was = before.get(row.key);
      return [row.key, was === undefined ? 'new' : isSame(was, row) ? 'saved' : 'changed'];
    }),
  );
  const states = [...rows.values()];
  const added = states.filter((state) => state === 'new').length;
  const changed = states.filter((state) => state === 'changed').length;
  const kept = saved.rows.filter((row) => rows.has(row.key)).map((row) => row.key);
  const keptNow = draft.rows.filter((row) => before.has(row.key)).map((row) => row.key);
  const removed = saved.rows.length - kept.length;
  const reordered = kept.some((key, at) => keptNow[at] !== key);
  const defaultChanged = saved.defaultKey !== draft.defaultKey;
  return {
    rows,
    changed,
    added,
    removed,
    reordered,
    defaultChanged,
    any: added + changed + removed > 0 || reordered || defaultChanged,
  };
}

/** The changes as a sentence: “Not saved: 2 rows changed, 1 row added, order changed.” */
export function describeChanges(changes: Changes): string {
  if (!changes.any) return commonTexts.allSaved;
  const parts = [
    changes.changed > 0 && scheduleTexts.changed(changes.changed),
    changes.added > 0 && scheduleTexts.added(changes.added),
    changes.removed > 0 && scheduleTexts.removed(changes.removed),
    changes.reordered && scheduleTexts.reordered,
    changes.defaultChanged && scheduleTexts.defaultChanged,
  ].filter((part): part is string => part !== false);
  return scheduleTexts.unsaved(parts);
}

/** Why rows cannot be saved, by row key: codes, names and GTINs must be well formed and unique. */
export function listRowTroubles(draft: Draft): ReadonlyMap<number, string> {
  const troubles = new Map<number, string>();
  const pattern = new RegExp(CODE_PATTERN);
  const codes = new Map<string, number>();
  const names = new Map<string, number>();
  const gtins = new Map<string, number>();
  draft.rows.forEach((row, at) => {
    const sameCode = codes.get(foldCode(row.code));
    const sameName = names.get(row.name.trim().toLowerCase());
    const length = [...row.name.trim()].length;
    const gtin = checkGtin(row.gtin);
    const sameGtin = gtin.digits === null ? undefined : gtins.get(gtin.digits);
    if (!pattern.test(row.code)) {
      troubles.set(row.key, scheduleTexts.badCode);
    } else if (sameCode !== undefined) {
      troubles.set(row.key, scheduleTexts.sameCode(sameCode + 1));
    } else if (length < NAME_LENGTH.min || length > NAME_LENGTH.max) {
      troubles.set(row.key, scheduleTexts.badName(NAME_LENGTH.min, NAME_LENGTH.max));
    } else if (sameName !== undefined) {
      troubles.set(row.key, scheduleTexts.sameName(sameName + 1));
    } else if (gtin.trouble !== null) {
      troubles.set(row.key, gtin.trouble);
    } else if (sameGtin !== undefined) {
      troubles.set(row.key, scheduleTexts.sameGtin(sameGtin + 1));
    }
    if (gtin.digits !== null && sameGtin === undefined) gtins.set(gtin.digits, at);
    if (sameCode === undefined) codes.set(foldCode(row.code), at);
    if (sameName === undefined) names.set(row.name.trim().toLowerCase(), at);
  });
  return troubles;
}

interface GtinCheck {
  /** 14 digits; null without a well-formed GTIN. */
  readonly digits: string | null;
  readonly trouble: string | null;
}

function checkGtin(text = ''): GtinCheck {
  if (text.trim() === '') return { digits: null, trouble: null };
  try {
    return { digits: readGtin(text, ''), trouble: null };
  } catch (error) {
    if (error instanceof Problem) return { digits: null, trouble: error.message };
    throw error;
  }
}

function isSame(a: Row, b: Row): boolean {
  if (a === b) return true;
  const slots = new Set([...Object.keys(a.choices), ...Object.keys(b.choices)]);
  const alike = a.code === b.code && a.name === b.name && (a.gtin ?? '').trim() === (b.gtin ?? '').trim();
  return alike && [...slots].every((slot) => a.choices[slot] === b.choices[slot]);
}
