import type Sqlite from 'better-sqlite3';
import { type Kysely, sql } from 'kysely';
import type { ArchiveDifference, ArchiveEntry, ArchiveKind } from '../../server/core/archive/archive.ts';
import { canonical } from '../../server/core/canonical.ts';
import type { Tables } from '../tables.ts';

type Row = Record<string, string | number | null>;

/** Rows of the archive, or those that are stored, by a condition on their key. */
export interface RecordSource {
  /** @param key bound to `?` in the condition */
  list(table: string, condition: string, key: string): Promise<Row[]>;
}

export function readStaged(staged: Sqlite.Database): RecordSource {
  return {
    async list(table, condition, key) {
      return staged.prepare(`SELECT * FROM "${table}" WHERE ${condition}`).all(key) as Row[];
    },
  };
}

export function readStored(db: Kysely<Tables>): RecordSource {
  return {
    async list(table, condition, key) {
      const [before, after = ''] = condition.split('?');
      const found =
        await sql<Row>`SELECT * FROM ${sql.table(table)} WHERE ${sql.raw(before!)}${key}${sql.raw(after)}`.execute(db);
      return found.rows;
    },
  };
}

/** Definitions with a table of their own: their key, and the column that has the whole definition. */
export const DEFINITIONS = {
  article: { table: 'articles', key: 'article_key', code: 'article' },
  finish: { table: 'finishes', key: 'finish_key', code: 'finish' },
  budget: { table: 'budgets', key: 'budget', code: 'name' },
  'picture-set': { table: 'picture_sets', key: 'set_key', code: 'code' },
} as const satisfies Partial<Record<ArchiveKind, object>>;

/** Compares everything of an archive with what is stored. */
export async function compareRecords(staged: Sqlite.Database, db: Kysely<Tables>): Promise<ArchiveEntry[]> {
  const archived = readStaged(staged);
  const stored = readStored(db);
  const keys = (table: string, key: string) =>
    staged.prepare(`SELECT "${key}" FROM "${table}" ORDER BY rowid`).pluck().all() as string[];
  const entries: ArchiveEntry[] = [];
  for (const key of keys('lines', 'line_key')) entries.push(await compareLine(key, archived, stored));
  for (const key of keys('products', 'product_key')) entries.push(await compareProduct(key, archived, stored));
  for (const [kind, { table, key: column, code }] of Object.entries(DEFINITIONS)) {
    // finishes keep the order in which they were added
    const order = kind === 'finish' ? 'ordinal' : '1';
    for (const key of staged
      .prepare(`SELECT "${column}" FROM "${table}" ORDER BY ${order}`)
      .pluck()
      .all() as string[]) {
      const [own] = await archived.list(table, `"${column}" = ?`, key);
      const [known] = await stored.list(table, `"${column}" = ?`, key);
      const definition = JSON.parse(String(own!.data)) as Record<string, unknown>;
      // the first spelling of a code stays
      const isSame =
        known && canonical(definition) === canonical({ ...JSON.parse(String(known.data)), [code]: definition[code] });
      const differs: ArchiveDifference[] = known && !isSame ? ['definition'] : [];
      entries.push(toEntry(kind as ArchiveKind, String(definition[code]), known !== undefined, differs));
    }
  }
  return entries;
}

function toEntry(
  kind: ArchiveKind,
  code: string,
  isKnown: boolean,
  differs: readonly ArchiveDifference[],
  replaceable = true,
): ArchiveEntry {
  return { kind, code, state: !isKnown ? 'new' : differs.length > 0 ? 'conflict' : 'same', differs, replaceable };
}

async function compareLine(key: string, archived: RecordSource, stored: RecordSource): Promise<ArchiveEntry> {
  const of = 'line_key = ?';
  const [own] = await archived.list('lines', of, key);
  const [known] = await stored.list('lines', of, key);
  const differs: ArchiveDifference[] = [];
  if (known) {
    if (own!.name !== known.name) differs.push('definition');
    if (textOf([own!], ['rules']) !== textOf([known], ['rules'])) differs.push('rules');
    for (const [table, what] of [
      ['line_positions', 'positions'],
      ['line_range', 'range'],
    ] as const) {
      const [one, other] = [await archived.list(table, of, key), await stored.list(table, of, key)];
      if (listTexts(one).join() !== listTexts(other).join()) differs.push(what);
    }
  }
  return toEntry('line', String(own!.line), known !== undefined, differs);
}

/** Fields of a product that people edit. */
export const PRODUCT_FIELDS = ['name', 'class', 'mount', 'sheet', 'budget', 'current_revision', 'sku_template'];

/**
 * A product of the archive can take the place of a stored one where the stored one is an earlier state of it: each of its
 * models and deliveries is in the archive, with the same bytes under the same number.
 */
async function compareProduct(key: string, archived: RecordSource, stored: RecordSource): Promise<ArchiveEntry> {
  const of = 'product_key = ?';
  const [own] = await archived.list('products', of, key);
  const [known] = await stored.list('products', of, key);
  if (!known) return toEntry('product', String(own!.code), false, []);
  const both = async (table: string, condition = of, value = key) =>
    [await archived.list(table, condition, value), await stored.list(table, condition, value)] as const;
  const differs: ArchiveDifference[] = [];
  let replaceable = true;
  if (own!.line_key !== known.line_key) {
    differs.push('line');
    replaceable = false;
  }
  if (textOf([own!], PRODUCT_FIELDS) !== textOf([known], PRODUCT_FIELDS)) differs.push('definition');
  for (const [table, what, columns] of [
    ['models', 'models', ['revision', 'sha256', 'received_sha256']],
    ['deliveries', 'deliveries', ['delivery', 'sha256', 'bytes', 'manifest']],
  ] as const) {
    const [one, other] = (await both(table)).map((rows) => rows.map((row) => textOf([row], columns))) as [
      string[],
      string[],
    ];
    const has = new Set(one);
    if (!other.every((text) => has.has(text))) {
      differs.push(what);
      replaceable = false;
    } else if (one.length > other.length) differs.push(what);
  }
  for (const [table, what, columns] of [
    ['slots', 'slots', ['slot', 'ordinal', 'data']],
    ['schedules', 'schedule', ['tag']],
    ['preparations', 'preparation', ['steps']],
  ] as const) {
    const [one, other] = await both(table);
    if (listTexts(one, columns).join() !== listTexts(other, columns).join()) differs.push(what);
  }
  // a withdrawal is never undone
  const [listed, there] = await both('deliveries');
  const stands = new Set(there.filter(({ withdrawn }) => withdrawn === null).map(({ delivery }) => delivery));
  if (listed.some(({ delivery, withdrawn }) => withdrawn !== null && stands.has(delivery!)))
    differs.push('withdrawals');
  const [made, recorded] = await both('approvals', `substr(subject, 1, instr(subject, '/') - 1) = ?`);
  const decided = new Set(recorded.map((row) => textOf([row], ['subject', 'data'])));
  if (made.some((row) => !decided.has(textOf([row], ['subject', 'data'])))) differs.push('approvals');
  return toEntry('product', String(own!.code), true, differs, replaceable);
}

/** Rows as texts without order; JSON in them in one form. */
function listTexts(rows: readonly Row[], columns?: readonly string[]): string[] {
  return rows.map((row) => textOf([row], columns ?? Object.keys(row))).sort();
}

export function textOf(rows: readonly Row[], columns: readonly string[]): string {
  return canonical(rows.map((row) => columns.map((column) => unpack(row[column]))));
}

function unpack(value: unknown): unknown {
  if (typeof value !== 'string' || !/^[[{]/.test(value)) return value ?? null;
  try {
    return JSON.parse(value) as unknown;
  } catch {
    return value;
  }
}
