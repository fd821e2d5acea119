import { CODE_LENGTH, CODE_PATTERN, foldCode, NAME_LENGTH } from '../../../../server/core/codes.ts';
import { readGtin } from '../../../../server/core/gs1.ts';
import { Problem } from '../../../../server/core/problems.ts';
import { makeNamer } from '../../../../server/core/schedule/name-rows.ts';
import type { RowTemplate, Schedule, Variant } from '../../../../server/core/schedule/schedule.ts';
import { choiceOf } from '../../../../server/core/schedule/schedule.ts';
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
  readonly template?: RowTemplate | undefined;
}

export const EMPTY: Draft = { rows: [], defaultKey: null, nextKey: 1 };

/**
 * A schedule as a draft. Rows keep the keys that they have in an earlier draft: by their code, or by their place where the
 * same rows come back from the service.
 * @param byPlace whether the rows are those of the earlier draft, in the same order
 */
export function fromSchedule(schedule: Schedule, earlier: Draft = EMPTY, byPlace = false): Draft {
  const keys = new Map(earlier.rows.map((row) => [foldCode(row.code), row.key]));
  let { nextKey } = earlier;
  const rows = schedule.variants.map((variant, at): Row => {
    const key = (byPlace ? earlier.rows[at]?.key : keys.get(foldCode(variant.code))) ?? nextKey++;
    return { ...variant, key };
  });
  const byDefault = rows.find((row) => row.code === schedule.default) ?? rows[0];
  return {
    rows,
    defaultKey: byDefault?.key ?? null,
    nextKey,
    ...(schedule.template && { template: schedule.template }),
  };
}

export function toSchedule(draft: Draft): Schedule {
  const byDefault = draft.rows.find((row) => row.key === draft.defaultKey) ?? draft.rows[0];
  return {
    default: byDefault?.code ?? '',
    ...(draft.template && { template: draft.template }),
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
    const choices = withChoice(row.choices, slot, finish);
    return choices === row.choices ? row : { ...row, choices };
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

function changeRow(draft: Draft, key: number, change: (row: Row) => Row): Draft {
  return changeRows(draft, new Set([key]), change);
}

/** Changes rows in one go. A row that `change` returns as it is stays the same object. */
export function changeRows(draft: Draft, keys: ReadonlySet<number>, change: (row: Row) => Row): Draft {
  let any = false;
  const rows = draft.rows.map((row) => {
    if (!keys.has(row.key)) return row;
    const next = change(row);
    any ||= next !== row;
    return next;
  });
  return any ? { ...draft, rows } : draft;
}

/** The choices with another finish in a slot, or without one. Unchanged choices stay the same object. */
export function withChoice(choices: Row['choices'], slot: string, finish: string | null): Row['choices'] {
  if (finish === (choiceOf(choices, slot) ?? null)) return choices;
  if (finish !== null) return { ...choices, [slot]: finish };
  const { [slot]: _, ...others } = choices;
  return others;
}

/** Adds rows at a place, with keys of their own. */
export function insertRows(draft: Draft, at: number, variants: readonly Variant[]): Draft {
  if (variants.length === 0) return draft;
  const rows = variants.map((variant, i): Row => ({ ...variant, key: draft.nextKey + i }));
  const nextKey = draft.nextKey + rows.length;
  return {
    ...draft,
    rows: [...draft.rows.slice(0, at), ...rows, ...draft.rows.slice(at)],
    defaultKey: draft.defaultKey ?? rows[0]?.key ?? null,
    nextKey,
  };
}

/** Inserts a copy below each of the rows. A copy is another trade item, so it has no GTIN. */
export function duplicateRows(draft: Draft, keys: ReadonlySet<number>): Draft {
  const nameCode = makeNamer(
    draft.rows.map(({ code }) => code),
    '-',
    CODE_LENGTH,
  );
  const nameRow = makeNamer(
    draft.rows.map(({ name }) => name),
    ' ',
    NAME_LENGTH.max,
  );
  let { nextKey } = draft;
  const rows = draft.rows.flatMap((row): Row[] => {
    if (!keys.has(row.key)) return [row];
    return [row, { key: nextKey++, code: nameCode(row.code), name: nameRow(row.name), choices: row.choices }];
  });
  return { ...draft, rows, nextKey };
}

/** Removes rows. If the default is among them, the first remaining row becomes the default. */
export function removeRows(draft: Draft, keys: ReadonlySet<number>): Draft {
  const rows = draft.rows.filter((row) => !keys.has(row.key));
  const stays = draft.defaultKey !== null && !keys.has(draft.defaultKey);
  return { ...draft, rows, defaultKey: stays ? draft.defaultKey : (rows[0]?.key ?? null) };
}

/** Moves rows up or down by one place. Rows that stand together stay together, and stop at the edge. */
export function moveRows(draft: Draft, keys: ReadonlySet<number>, by: 1 | -1): Draft {
  const rows = [...draft.rows];
  const last = by < 0 ? 0 : rows.length - 1;
  for (let at = last; at >= 0 && at < rows.length; at -= by) {
    const to = at + by;
    const beyond = to < 0 || to >= rows.length;
    if (!keys.has(rows[at]!.key) || beyond || keys.has(rows[to]!.key)) continue;
    [rows[at], rows[to]] = [rows[to]!, rows[at]!];
  }
  return { ...draft, rows };
}

/** Puts the rows into an order that names all of them. */
export function orderRows(draft: Draft, keys: readonly number[]): Draft {
  const byKey = new Map(draft.rows.map((row) => [row.key, row]));
  const rows = keys.flatMap((key) => byKey.get(key) ?? []);
  return rows.length === draft.rows.length ? { ...draft, rows } : draft;
}

function insert(draft: Draft, at: number, variant: Variant): Draft {
  return insertRows(draft, at, [variant]);
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

export type RowState = 'saved' | 'changed' | 'new';

export interface Changes {
  /** The state of each row of the draft, by key. */
  readonly rows: ReadonlyMap<number, RowState>;
  readonly changed: number;
  readonly added: number;
  readonly removed: number;
  readonly reordered: boolean;
  readonly defaultChanged: boolean;
  readonly templateChanged: boolean;
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
  const templateChanged = !isSameTemplate(saved.template, draft.template);
  return {
    rows,
    changed,
    added,
    removed,
    reordered,
    defaultChanged,
    templateChanged,
    any: added + changed + removed > 0 || reordered || defaultChanged || templateChanged,
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
    changes.templateChanged && scheduleTexts.templateChanged,
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

const isSameTemplate = (a: RowTemplate | undefined, b: RowTemplate | undefined) =>
  (a?.name ?? '') === (b?.name ?? '') && (a?.code ?? '') === (b?.code ?? '');

export function isSame(a: Row, b: Row): boolean {
  if (a === b) return true;
  if (a.code !== b.code || a.name !== b.name || (a.gtin ?? '').trim() !== (b.gtin ?? '').trim()) return false;
  if (a.choices === b.choices) return true;
  const slots = Object.keys(a.choices);
  if (slots.length !== Object.keys(b.choices).length) return false;
  return slots.every((slot) => choiceOf(b.choices, slot) === a.choices[slot]);
}
