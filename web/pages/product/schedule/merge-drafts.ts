import { foldCode } from '../../../../server/core/codes.ts';
import { choiceOf, type RowTemplate } from '../../../../server/core/schedule/schedule.ts';
import { type Draft, isSame, type Row, withChoice } from './schedule-draft.ts';

/** What both sides changed in different ways: a cell, a whole row, or something of the schedule. */
export interface Clash {
  readonly id: string;
  /** Key of the row; null for what belongs to the schedule. */
  readonly key: number | null;
  readonly field: 'code' | 'name' | 'gtin' | 'row' | 'default' | 'template' | { readonly slot: string };
  /** The contents on each side; null for a row that was removed. */
  readonly base: string | null;
  readonly mine: string | null;
  readonly theirs: string | null;
}

export interface Merge {
  /** Both sides, and mine where they clash. */
  readonly merged: Draft;
  /** Their version, with the keys of `merged`. */
  readonly theirs: Draft;
  readonly clashes: readonly Clash[];
  /** Rows that the other side changed, added or removed. */
  readonly taken: number;
}

/**
 * Merges two versions of a schedule that began as the same one. Rows of `theirs` have the keys of `base`, see
 * `fromSchedule`; a row added on both sides under one code is one row.
 * @param aligned whether a key means the same row in all three
 */
export function mergeDrafts(base: Draft, mine: Draft, given: Draft, aligned = false): Merge {
  const theirs = aligned ? given : alignKeys(base, mine, given);
  const was = byKey(base);
  const our = byKey(mine);
  const their = byKey(theirs);
  const clashes: Clash[] = [];
  let taken = 0;
  const kept = new Map<number, Row>();
  for (const key of new Set([...our.keys(), ...their.keys()])) {
    const [before, ours, other] = [was.get(key), our.get(key), their.get(key)];
    if (other === undefined ? before !== undefined : before === undefined || !isSame(before, other)) taken++;
    const row = mergeRow(key, before, ours, other, clashes);
    if (row) kept.set(key, row);
  }
  const order = mergeOrder(base, mine, theirs, kept);
  const defaultKey = pick(base.defaultKey, mine.defaultKey, theirs.defaultKey);
  if (defaultKey === CLASH) {
    const codeOf = (draft: Draft) => draft.rows.find((row) => row.key === draft.defaultKey)?.code ?? '';
    clashes.push({
      id: 'default',
      key: null,
      field: 'default',
      base: codeOf(base),
      mine: codeOf(mine),
      theirs: codeOf(theirs),
    });
  }
  const template = pickTemplate(base.template, mine.template, theirs.template);
  if (template === CLASH) {
    const words = (draft: Draft) => describeTemplate(draft.template);
    clashes.push({
      id: 'template',
      key: null,
      field: 'template',
      base: words(base),
      mine: words(mine),
      theirs: words(theirs),
    });
  }
  const wanted = defaultKey === CLASH ? mine.defaultKey : defaultKey;
  const merged: Draft = {
    rows: order.map((key) => kept.get(key)!),
    defaultKey: wanted !== null && kept.has(wanted) ? wanted : (order[0] ?? null),
    nextKey: Math.max(mine.nextKey, theirs.nextKey),
    template: template === CLASH ? mine.template : template,
  };
  return { merged, theirs, clashes, taken };
}

/** The merge with their side of some clashes. */
export function settle({ merged, theirs, clashes }: Merge, takeTheirs: ReadonlySet<string>): Draft {
  const their = byKey(theirs);
  const lost = new Set<number>();
  let rows = merged.rows;
  let { defaultKey, template } = merged;
  for (const { id, key, field } of clashes) {
    if (!takeTheirs.has(id)) continue;
    if (field === 'default') defaultKey = theirs.defaultKey;
    else if (field === 'template') template = theirs.template;
    else if (field === 'row') {
      const other = their.get(key!);
      if (other)
        rows = rows.some((row) => row.key === key)
          ? rows.map((row) => (row.key === key ? other : row))
          : [...rows, other];
      else lost.add(key!);
    } else {
      const other = their.get(key!)!;
      rows = rows.map((row) => (row.key === key ? takeField(row, other, field) : row));
    }
  }
  rows = rows.filter((row) => !lost.has(row.key));
  return {
    ...merged,
    rows,
    template,
    defaultKey: rows.some((row) => row.key === defaultKey) ? defaultKey : (rows[0]?.key ?? null),
  };
}

function takeField(row: Row, other: Row, field: Exclude<Clash['field'], 'row' | 'default' | 'template'>): Row {
  if (typeof field === 'object') {
    return { ...row, choices: withChoice(row.choices, field.slot, choiceOf(other.choices, field.slot) ?? null) };
  }
  return { ...row, [field]: other[field] };
}

const CLASH = Symbol('both sides changed it');

/** The value that one side changed, or that both have. */
function pick<T>(base: T, mine: T, theirs: T): T | typeof CLASH {
  if (mine === theirs || theirs === base) return mine;
  return mine === base ? theirs : CLASH;
}

function pickTemplate(base: RowTemplate | undefined, mine: RowTemplate | undefined, theirs: RowTemplate | undefined) {
  const picked = pick(describeTemplate(base), describeTemplate(mine), describeTemplate(theirs));
  if (picked === CLASH) return CLASH;
  return picked === describeTemplate(mine) ? mine : theirs;
}

const describeTemplate = (template: RowTemplate | undefined) =>
  [template?.name ?? '', template?.code ?? ''].join('\n').trim();

const byKey = ({ rows }: Draft) => new Map(rows.map((row) => [row.key, row]));

function mergeRow(
  key: number,
  base: Row | undefined,
  mine: Row | undefined,
  theirs: Row | undefined,
  clashes: Clash[],
): Row | undefined {
  if (!mine || !theirs) {
    const left = mine ?? theirs;
    if (!base) return left;
    // removed on one side: it goes, unless the other side changed it
    if (left && isSame(base, left)) return undefined;
    if (left) {
      clashes.push({
        id: `${key} row`,
        key,
        field: 'row',
        base: base.name,
        mine: mine?.name ?? null,
        theirs: theirs?.name ?? null,
      });
    }
    return mine;
  }
  if (isSame(mine, theirs)) return theirs;
  const merge = (field: 'code' | 'name' | 'gtin' | { slot: string }, read: (row: Row) => string) => {
    const values = [base ? read(base) : '', read(mine), read(theirs)] as const;
    const picked = pick(...values);
    if (picked !== CLASH) return picked;
    const id = `${key} ${typeof field === 'object' ? `slot ${field.slot}` : field}`;
    clashes.push({ id, key, field, base: values[0], mine: values[1], theirs: values[2] });
    return values[1];
  };
  const gtin = merge('gtin', (row) => (row.gtin ?? '').trim());
  const slots = new Set([...Object.keys(mine.choices), ...Object.keys(theirs.choices)]);
  const choices = [...slots].flatMap((slot): [string, string][] => {
    const finish = merge({ slot }, (row) => choiceOf(row.choices, slot) ?? '');
    return finish === '' ? [] : [[slot, finish]];
  });
  return {
    key,
    code: merge('code', (row) => row.code),
    name: merge('name', (row) => row.name),
    choices: Object.fromEntries(choices),
    ...(gtin !== '' && { gtin }),
  };
}

/** Rows that both sides added under one code are the same row; other rows of theirs get keys that nobody uses. */
function alignKeys(base: Draft, mine: Draft, theirs: Draft): Draft {
  const known = new Set(base.rows.map(({ key }) => key));
  const added = new Map(mine.rows.flatMap((row) => (known.has(row.key) ? [] : [[foldCode(row.code), row.key]])));
  let nextKey = Math.max(mine.nextKey, theirs.nextKey, base.nextKey);
  const keys = new Map<number, number>();
  const rows = theirs.rows.map((row): Row => {
    if (known.has(row.key)) return row;
    const key = added.get(foldCode(row.code)) ?? nextKey++;
    keys.set(row.key, key);
    return { ...row, key };
  });
  const defaultKey = theirs.defaultKey === null ? null : (keys.get(theirs.defaultKey) ?? theirs.defaultKey);
  return { ...theirs, rows, defaultKey, nextKey };
}

/** Their order with my new rows in it; my order with theirs, where I moved rows. */
function mergeOrder(base: Draft, mine: Draft, theirs: Draft, kept: ReadonlyMap<number, Row>): number[] {
  const inBase = new Set(base.rows.map(({ key }) => key));
  const inMine = new Set(mine.rows.map(({ key }) => key));
  const common = base.rows.filter(({ key }) => inMine.has(key)).map(({ key }) => key);
  const mineNow = mine.rows.filter(({ key }) => inBase.has(key)).map(({ key }) => key);
  const moved = common.some((key, at) => mineNow[at] !== key);
  const [first, second] = moved ? [mine, theirs] : [theirs, mine];
  const order = first.rows.map(({ key }) => key).filter((key) => kept.has(key));
  const placed = new Set(order);
  const after = new Map<number | null, number[]>();
  let before: number | null = null;
  for (const { key } of second.rows) {
    if (placed.has(key)) before = key;
    else if (kept.has(key)) after.set(before, [...(after.get(before) ?? []), key]);
  }
  return [...(after.get(null) ?? []), ...order.flatMap((key) => [key, ...(after.get(key) ?? [])])];
}
