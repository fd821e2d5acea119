import type { Schedule, Variant } from '../../../../server/core/schedule/schedule.ts';
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

/** Stores a GTIN as typed; `listRowTroubles` checks it. */
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
