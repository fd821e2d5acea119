import type { Schedule, Variant } from '../../../server/core/schedule/schedule.ts';

/** A row being edited. The key stays when the code changes, so that a row is known again. */
export interface Row extends Variant {
  readonly key: number;
}

/** A schedule being edited; every change gives a new one. */
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

/** Puts a finish in a cell; null empties it, and the part keeps the material the model came with. */
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

/** A GTIN as it is typed; what is wrong with it is said by `listRowTroubles`. */
export function setGtin(draft: Draft, key: number, gtin: string): Draft {
  return changeRow(draft, key, (row) => ({ ...row, gtin }));
}

export function setDefault(draft: Draft, key: number): Draft {
  return draft.rows.some((row) => row.key === key) ? { ...draft, defaultKey: key } : draft;
}

/** Adds a row at the end, with the default variant's choices to start from. */
export function addRow(draft: Draft): Draft {
  const like = draft.rows.find((row) => row.key === draft.defaultKey);
  return insert(draft, draft.rows.length, {
    code: free(draft, (row) => row.code, `V${String(draft.rows.length + 1).padStart(2, '0')}`, '-'),
    name: free(draft, (row) => row.name, 'New variant', ' '),
    choices: like?.choices ?? {},
  });
}

/** Puts a copy under the row, under a code and name of its own. */
export function duplicateRow(draft: Draft, key: number): Draft {
  const at = draft.rows.findIndex((row) => row.key === key);
  const row = draft.rows[at];
  if (!row) return draft;
  return insert(draft, at + 1, {
    code: free(draft, (other) => other.code, row.code, '-'),
    name: free(draft, (other) => other.name, row.name, ' '),
    choices: row.choices,
  });
}

/** Takes a row out; when it was the default, the first row left becomes it. */
export function removeRow(draft: Draft, key: number): Draft {
  const rows = draft.rows.filter((row) => row.key !== key);
  return { ...draft, rows, defaultKey: draft.defaultKey === key ? (rows[0]?.key ?? null) : draft.defaultKey };
}

/** Moves a row by so many places; at the ends it stays. */
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

/** `wanted`, or with the first number from 2 that nothing has yet; a number it ends in already is counted on. */
function free(draft: Draft, of: (row: Row) => string, wanted: string, between: string): string {
  const taken = new Set(draft.rows.map((row) => of(row).toLowerCase()));
  if (!taken.has(wanted.toLowerCase())) return wanted;
  for (let n = 2; ; n++) {
    const candidate = `${wanted}${between}${n}`;
    if (!taken.has(candidate.toLowerCase())) return candidate;
  }
}
