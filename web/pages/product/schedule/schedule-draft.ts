import { CODE_PATTERN, foldCode, NAME_LENGTH } from '../../../../server/core/codes.ts';
import { readGtin } from '../../../../server/core/gs1.ts';
import { Problem } from '../../../../server/core/problems.ts';
import type { Schedule, Variant } from '../../../../server/core/schedule/schedule.ts';
import { commonTexts } from '../../../texts/common.ts';
import { scheduleTexts } from '../../../texts/product-schedule.ts';

/** A row being edited. Its key stays the same when its code changes. */
export interface Row extends Variant {
  readonly key: number;
}

/** A schedule being edited. Each change returns a new draft. */
export interface Draft {
  readonly rows: readonly Row[];
  /** Key of the default variant's row; null in an empty schedule. */
  readonly defaultKey: number | null;
  /** Next free key. */
  readonly nextKey: number;
}

export const EMPTY: Draft = { rows: [], defaultKey: null, nextKey: 1 };

export function fromSchedule(schedule: Schedule): Draft {
  const rows = schedule.variants.map((variant, at): Row => ({ ...variant, key: at + 1 }));
  const byDefault = rows.find((row) => row.code === schedule.default) ?? rows[0];
  return { rows, defaultKey: byDefault?.key ?? null, nextKey: rows.length + 1 };
}

export function toSchedule(draft: Draft): Schedule {
  const byDefault = draft.rows.find((row) => row.key === draft.defaultKey) ?? draft.rows[0];
  return {
    default: byDefault?.code ?? '',
    variants: draft.rows.map(({ code, name, choices, gtin }) => ({
      code,
      name,
      choices,
      ...(gtin?.trim() && { gtin: gtin.trim() }),
    })),
  };
}

/** Puts a finish in a cell. Null empties it: the part keeps its original material. */
export function setChoice(draft: Draft, key: number, slot: string, finish: string | null): Draft {
  return changeRow(draft, key, (row) => {
    const { [slot]: _, ...others } = row.choices;
    return { ...row, choices: finish === null ? others : { ...row.choices, [slot]: finish } };
  });
}

export function setCode(draft: Draft, key: number, code: string): Draft {
  return changeRow(draft, key, (row) => ({ ...row, code }));
}

export function setName(draft: Draft, key: number, name: string): Draft {
  return changeRow(draft, key, (row) => ({ ...row, name }));
}

/** Stores a GTIN as typed; `listRowProblems` checks it. */
export function setGtin(draft: Draft, key: number, gtin: string): Draft {
  return changeRow(draft, key, (row) => ({ ...row, gtin }));
}

export function setDefault(draft: Draft, key: number): Draft {
  return draft.rows.some((row) => row.key === key) ? { ...draft, defaultKey: key } : draft;
}

/** Adds a row at the end, with the choices of the default variant. */
export function addRow(draft: Draft): Draft {
  const template = draft.rows.find((row) => row.key === draft.defaultKey);
  return insert(draft, draft.rows.length, {
    code: findFree(draft, (row) => row.code, `V${String(draft.rows.length + 1).padStart(2, '0')}`, '-'),
    name: findFree(draft, (row) => row.name, scheduleTexts.newVariant, ' '),
    choices: template?.choices ?? {},
  });
}

/** Inserts a copy below the row, with its own code and name. */
export function duplicateRow(draft: Draft, key: number): Draft {
  const at = draft.rows.findIndex((row) => row.key === key);
  const row = draft.rows[at];
  if (!row) return draft;
  return insert(draft, at + 1, {
    code: findFree(draft, (other) => other.code, row.code, '-'),
    name: findFree(draft, (other) => other.name, row.name, ' '),
    choices: row.choices,
  });
}

/** Removes a row. If it was the default, the first remaining row becomes the default. */
export function removeRow(draft: Draft, key: number): Draft {
  const rows = draft.rows.filter((row) => row.key !== key);
  return { ...draft, rows, defaultKey: draft.defaultKey === key ? (rows[0]?.key ?? null) : draft.defaultKey };
}

/** Moves a row by a number of places, if it stays within the list. */
export function moveRow(draft: Draft, key: number, by: number): Draft {
  const at = draft.rows.findIndex((row) => row.key === key);
  const to = at + by;
  if (at < 0 || to < 0 || to >= draft.rows.length) return draft;
  const rows = [...draft.rows];
  rows.splice(to, 0, ...rows.splice(at, 1));
  return { ...draft, rows };
}

function changeRow(draft: Draft, key: number, change: (row: Row) => Row): Draft {
  return { ...draft, rows: draft.rows.map((row) => (row.key === key ? change(row) : row)) };
}

function insert(draft: Draft, at: number, variant: Variant): Draft {
  const key = draft.nextKey;
  const rows = [...draft.rows];
  rows.splice(at, 0, { ...variant, key });
  return { rows, defaultKey: draft.defaultKey ?? key, nextKey: key + 1 };
}

/** `wanted`, or `wanted` with the first free number from 2 on. */
function findFree(draft: Draft, read: (row: Row) => string, wanted: string, separator: string): string {
  const taken = new Set(draft.rows.map((row) => read(row).toLowerCase()));
  if (!taken.has(wanted.toLowerCase())) return wanted;
  for (let n = 2; ; n++) {
    const candidate = `${wanted}${separator}${n}`;
    if (!taken.has(candidate.toLowerCase())) return candidate;
  }
}

type RowState = 'saved' | 'changed' | 'new';

interface Changes {
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
export function listRowProblems(draft: Draft): ReadonlyMap<number, string> {
  const problems = new Map<number, string>();
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
      problems.set(row.key, scheduleTexts.badCode);
    } else if (sameCode !== undefined) {
      problems.set(row.key, scheduleTexts.sameCode(sameCode + 1));
    } else if (length < NAME_LENGTH.min || length > NAME_LENGTH.max) {
      problems.set(row.key, scheduleTexts.badName(NAME_LENGTH.min, NAME_LENGTH.max));
    } else if (sameName !== undefined) {
      problems.set(row.key, scheduleTexts.sameName(sameName + 1));
    } else if (gtin.problem !== null) {
      problems.set(row.key, gtin.problem);
    } else if (sameGtin !== undefined) {
      problems.set(row.key, scheduleTexts.sameGtin(sameGtin + 1));
    }
    if (gtin.digits !== null && sameGtin === undefined) gtins.set(gtin.digits, at);
    if (sameCode === undefined) codes.set(foldCode(row.code), at);
    if (sameName === undefined) names.set(row.name.trim().toLowerCase(), at);
  });
  return problems;
}

interface GtinCheck {
  /** 14 digits; null without a well-formed GTIN. */
  readonly digits: string | null;
  readonly problem: string | null;
}

function checkGtin(text = ''): GtinCheck {
  if (text.trim() === '') return { digits: null, problem: null };
  try {
    return { digits: readGtin(text, ''), problem: null };
  } catch (error) {
    if (error instanceof Problem) return { digits: null, problem: error.message };
    throw error;
  }
}

function isSame(a: Row, b: Row): boolean {
  if (a === b) return true;
  const slots = new Set([...Object.keys(a.choices), ...Object.keys(b.choices)]);
  const alike = a.code === b.code && a.name === b.name && (a.gtin ?? '').trim() === (b.gtin ?? '').trim();
  return alike && [...slots].every((slot) => a.choices[slot] === b.choices[slot]);
}
