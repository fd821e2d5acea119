import { setImmediate } from 'node:timers/promises';
import type Sqlite from 'better-sqlite3';
import type { ArchiveStatement } from '../../server/core/archive/archive.ts';
import { CODE_PATTERN, foldCode } from '../../server/core/codes.ts';
import { Problem } from '../../server/core/problems.ts';
import { ARCHIVE_PROBLEMS } from '../../server/core/texts/problems/archive.ts';
import { MIGRATIONS } from '../migrations.ts';
import { Database } from '../open-database.ts';
import { ARCHIVED } from './archive-tables.ts';

/** A check of one row beyond types and references: its JSON has the form that this version reads. */
export type RowCheck = (table: string, row: Readonly<Record<string, unknown>>) => boolean;

/** Characters of a row: a manifest of a hundred thousand variants has a tenth. */
const LINE_LENGTH = 256 * 1024 * 1024;
/** Rows after which others get a turn. */
const ROWS_AT_ONCE = 20;
/** Columns with JSON, beside those named `data`. */
const JSON_COLUMNS: ReadonlySet<string> = new Set(
  'data survey pieces places origin manifest withdrawn steps rules options sheet record details encoding detail'.split(
    ' ',
  ),
);

/**
 * Makes a database of the records of an archive: the tables as they were in the version that made it, the rows, and then the
 * migrations since. So archives of earlier versions are read as their databases are.
 * @throws Problem `archive-records`
 */
export async function stageRecords(
  path: string,
  { schema, line }: ArchiveStatement,
  tables: AsyncIterable<{ readonly table: string; readonly text: AsyncIterable<Uint8Array> }>,
  check: RowCheck,
): Promise<Sqlite.Database> {
  const database = new Database(path);
  try {
    database.pragma('journal_mode = OFF');
    database.pragma('synchronous = OFF');
    database.pragma('foreign_keys = OFF');
    const names = Object.keys(MIGRATIONS);
    const then = names.indexOf(schema) + 1;
    for (const name of names.slice(0, then)) database.exec(MIGRATIONS[name]!);
    for await (const { table, text } of tables) await insertRows(database, table, text);
    for (const name of names.slice(then)) database.exec(MIGRATIONS[name]!);
    checkWhole(database, line);
    await checkRows(database, check);
    return database;
  } catch (error) {
    database.close();
    // wrong types, doubled keys and the like
    const isOfSqlite = /^SQLITE_/.test((error as { code?: string }).code ?? '');
    throw isOfSqlite && !isOfDisk(error) ? wrongRecords('records', 0, error) : error;
  }
}

const isOfDisk = (error: unknown) =>
  /^SQLITE_(FULL|IOERR|READONLY|CANTOPEN)/.test((error as { code?: string }).code ?? '');

async function insertRows(database: Sqlite.Database, table: string, text: AsyncIterable<Uint8Array>): Promise<void> {
  if (!(table in ARCHIVED)) throw wrongRecords(table, 0);
  const columns = new Set(database.prepare('SELECT name FROM pragma_table_info(?)').pluck().all(table) as string[]);
  if (columns.size === 0) throw wrongRecords(table, 0);
  let number = 0;
  let insert: Sqlite.Statement | null = null;
  let known = '';
  for await (const each of splitLines(text, table)) {
    number++;
    const row = parseRow(each, table, number);
    const keys = Object.keys(row);
    if (keys.some((key) => !columns.has(key))) throw wrongRecords(table, number);
    if (keys.join() !== known) {
      known = keys.join();
      const list = keys.map((key) => `"${key}"`).join();
      insert = database.prepare(`INSERT INTO "${table}" (${list}) VALUES (${keys.map(() => '?').join()})`);
    }
    try {
      insert!.run(Object.values(row).map((value) => (Number.isInteger(value) ? BigInt(value as number) : value)));
    } catch (error) {
      throw isOfDisk(error) ? error : wrongRecords(table, number, error);
    }
    if (number % ROWS_AT_ONCE === 0) await setImmediate();
  }
}

/** Each line ends with a line break, the last one too. */
async function* splitLines(text: AsyncIterable<Uint8Array>, table: string): AsyncGenerator<string> {
  const decoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });
  let parts: string[] = [];
  let length = 0;
  for await (const chunk of text) {
    const lines = decode(decoder, chunk, table).split('\n');
    for (const [index, line] of lines.entries()) {
      parts.push(line);
      length += line.length;
      if (length > LINE_LENGTH) throw wrongRecords(table, 0);
      if (index === lines.length - 1) break;
      yield parts.join('');
      parts = [];
      length = 0;
    }
  }
  decode(decoder, undefined, table);
  if (length > 0) throw wrongRecords(table, 0);
}

function decode(decoder: TextDecoder, chunk: Uint8Array | undefined, table: string): string {
  try {
    return decoder.decode(chunk, { stream: chunk !== undefined });
  } catch (error) {
    throw wrongRecords(table, 0, error);
  }
}

function parseRow(text: string, table: string, number: number): Record<string, string | number | null> {
  let row: unknown;
  try {
    row = JSON.parse(text);
  } catch (error) {
    throw wrongRecords(table, number, error);
  }
  const isRow =
    typeof row === 'object' &&
    row !== null &&
    !Array.isArray(row) &&
    Object.keys(row).length > 0 &&
    Object.values(row).every((value) => value === null || typeof value === 'string' || Number.isSafeInteger(value));
  if (!isRow) throw wrongRecords(table, number);
  return row as Record<string, string | number | null>;
}

/** Questions whose answer is a row for each record that contradicts another: of which table. */
const CONTRADICTIONS = /* sql */ `
  SELECT 'products' AS "table" FROM products WHERE line_key IS NULL OR line_key NOT IN (SELECT line_key FROM lines)
  UNION ALL SELECT 'products' FROM products WHERE product_key <> lower(code)
  UNION ALL SELECT 'products' FROM products WHERE current_revision IS NOT NULL
    AND NOT EXISTS (SELECT 1 FROM models WHERE models.product_key = products.product_key AND revision = current_revision)
  UNION ALL SELECT 'lines' FROM lines WHERE line_key <> lower(line)
  UNION ALL SELECT 'finishes' FROM finishes WHERE finish_key <> lower(json_extract(data, '$.finish'))
    OR article_key IS NOT lower(json_extract(data, '$.article')) OR revision < 1
  UNION ALL SELECT 'articles' FROM articles WHERE article_key <> lower(json_extract(data, '$.article')) OR revision < 1
  UNION ALL SELECT 'budgets' FROM budgets WHERE budget <> json_extract(data, '$.name')
  UNION ALL SELECT 'picture_sets' FROM picture_sets WHERE set_key <> lower(json_extract(data, '$.code'))
  UNION ALL SELECT 'slots' FROM slots WHERE slot <> json_extract(data, '$.slot')
  UNION ALL SELECT 'counters' FROM counters WHERE product_key NOT IN (SELECT product_key FROM products)
    OR revision < coalesce((SELECT max(models.revision) FROM models WHERE models.product_key = counters.product_key), 0)
    OR delivery < coalesce((SELECT max(of.delivery) FROM deliveries AS of WHERE of.product_key = counters.product_key), 0)
  UNION ALL SELECT 'sent_skus' FROM sent_skus WHERE product_key NOT IN (SELECT product_key FROM products)
  UNION ALL SELECT 'counters' FROM models WHERE product_key NOT IN (SELECT product_key FROM counters)
  UNION ALL SELECT 'models' FROM models WHERE revision < 1
  UNION ALL SELECT 'deliveries' FROM deliveries WHERE delivery < 1 OR delivery <> json_extract(manifest, '$.delivery')
    OR sha256 <> json_extract(manifest, '$.file.sha256') OR bytes <> json_extract(manifest, '$.file.bytes')
    OR variants <> json_array_length(manifest, '$.variants') OR product_key <> lower(json_extract(manifest, '$.product'))
  UNION ALL SELECT 'approvals' FROM approvals WHERE subject NOT IN (SELECT finish_key FROM finishes)
    AND (instr(subject, '/') = 0 OR substr(subject, 1, instr(subject, '/') - 1) NOT IN (SELECT product_key FROM products))
  UNION ALL SELECT 'history' FROM history WHERE kind = 'finish' AND code_key NOT IN (SELECT finish_key FROM finishes)
    OR kind = 'article' AND code_key NOT IN (SELECT article_key FROM articles) OR kind NOT IN ('finish', 'article')
  UNION ALL SELECT "table" FROM pragma_foreign_key_check
  LIMIT 1`;

function checkWhole(database: Sqlite.Database, line: string): void {
  const lines = database.prepare('SELECT line_key FROM lines').pluck().all() as string[];
  if (lines.length !== 1 || lines[0] !== foldCode(line)) throw wrongRecords('lines', 0);
  for (const table of Object.keys(ARCHIVED)) {
    const columns = database.prepare('SELECT name FROM pragma_table_info(?)').pluck().all(table) as string[];
    const wrong = columns
      .filter((name) => JSON_COLUMNS.has(name))
      .map((name) => `("${name}" IS NOT NULL AND NOT json_valid("${name}"))`);
    if (wrong.length === 0) continue;
    if (database.prepare(`SELECT 1 FROM "${table}" WHERE ${wrong.join(' OR ')} LIMIT 1`).get())
      throw wrongRecords(table, 0);
  }
  const found = database.prepare(CONTRADICTIONS).pluck().get() as string | undefined;
  if (found !== undefined) throw wrongRecords(found, 0);
}

const CODE = new RegExp(CODE_PATTERN);
/** Columns with codes, beside keys, which are codes folded to lower case. */
const CODES: ReadonlySet<string> = new Set(['line', 'code']);

async function checkRows(database: Sqlite.Database, check: RowCheck): Promise<void> {
  for (const table of Object.keys(ARCHIVED)) {
    let number = 0;
    const rows = database.prepare(`SELECT * FROM "${table}"`).iterate() as IterableIterator<Record<string, unknown>>;
    for (const row of rows) {
      number++;
      for (const [column, value] of Object.entries(row)) {
        if (
          table !== 'audit' &&
          column !== 'sku_key' &&
          (CODES.has(column) || column.endsWith('_key')) &&
          typeof value === 'string' &&
          !CODE.test(value)
        ) {
          throw wrongRecords(table, number);
        }
      }
      if (!check(table, row)) throw wrongRecords(table, number);
      if (number % ROWS_AT_ONCE === 0) await setImmediate();
    }
  }
}

export function wrongRecords(table: string, line: number, cause?: unknown): Problem {
  return new Problem('archive-records', {
    detail: ARCHIVE_PROBLEMS['archive-records'](table, line),
    where: `records/${table}.jsonl`,
    ...(cause !== undefined && { cause }),
  });
}
