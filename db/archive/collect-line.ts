import { createHash } from 'node:crypto';
import { open, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import type Sqlite from 'better-sqlite3';
import { ARCHIVE_FORMAT, type ArchiveStatement, STATEMENT } from '../../server/core/archive/archive.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { CollectedLine } from '../../server/core/ports/archives.ts';
import { Problem } from '../../server/core/problems.ts';
import { PRODUCT_PROBLEMS } from '../../server/core/texts/problems/product.ts';
import { STORAGE_PROBLEMS } from '../../server/core/texts/problems/storage.ts';
import { SILENT_COLUMNS } from '../list-references.ts';
import { MIGRATIONS } from '../migrations.ts';
import { Database } from '../open-database.ts';
import { ARCHIVED } from './archive-tables.ts';

interface CollectOptions {
  /** The data folder; a service may use it. */
  readonly folder: string;
  readonly line: string;
  /** A path for a file that holds the records until the archive is written. */
  readonly newTemporary: () => Promise<string>;
  readonly discard: (path: string) => Promise<unknown>;
  readonly version: string;
  readonly now: () => Date;
}

/** Text that is written at once. */
const WRITE_BYTES = 1024 * 1024;
const DIGESTS = /[0-9a-f]{64}/gi;

/** Digests in these are of no content file of their own. */
const SILENT = new Set(['audit', 'schedules', 'counters']);

/**
 * Collects all that an archive of a line contains. It reads through a connection of its own, which sees one moment and holds up
 * nobody, so it also works beside a service. The records go to temporary files; content files stay where they are.
 * @throws Problem `unknown-line-code`, `file-lost`
 */
export async function collectLine(options: CollectOptions): Promise<CollectedLine> {
  const { folder, line, newTemporary, discard, version, now } = options;
  const database = new Database(join(folder, 'dyeworks.sqlite'), { readonly: true, fileMustExist: true });
  const temporary: string[] = [];
  const entries: { name: string; path: string; sha256: string; bytes: number; packed: boolean }[] = [];
  try {
    database.pragma('busy_timeout = 5000');
    database.exec('BEGIN');
    const at = now().toISOString();
    const stored = choose(database, line);
    const schema = requireSchema(database);
    for (const [table, condition] of Object.entries(ARCHIVED)) {
      if (table === 'images') addCopies(database);
      const path = await newTemporary();
      temporary.push(path);
      const written = await writeRows(database, table, condition, path);
      if (written.rows > 0) entries.push({ name: `records/${table}.jsonl`, path, ...written, packed: true });
    }
    const certain = new Set(database.prepare(CERTAIN).pluck().all() as string[]);
    for (const sha256 of database
      .prepare('SELECT sha256 FROM chosen_files ORDER BY sha256')
      .pluck()
      .all() as string[]) {
      const name = `files/${sha256.slice(0, 2)}/${sha256}`;
      const path = join(folder, name);
      const bytes = await stat(path).then(
        ({ size }) => size,
        () => null,
      );
      if (bytes !== null) entries.push({ name, path, sha256, bytes, packed: false });
      else if (certain.has(sha256))
        throw new Problem('file-lost', { detail: STORAGE_PROBLEMS['file-lost'].call, received: sha256 });
    }
    const files = entries.map(({ name, sha256, bytes }) => ({ path: name, sha256, bytes }));
    const statement: ArchiveStatement = { format: ARCHIVE_FORMAT, version, schema, at, line: stored, files };
    return {
      line: stored,
      statement: { name: STATEMENT, bytes: new TextEncoder().encode(`${JSON.stringify(statement, null, 1)}\n`) },
      entries,
      discard: async () => void (await Promise.all(temporary.map(discard))),
    };
  } catch (error) {
    await Promise.all(temporary.map(discard));
    throw error;
  } finally {
    database.close();
  }
}

/** Files that models and deliveries are made of, and maps: without one, the archive would be incomplete. */
const CERTAIN = /* sql */ `
  SELECT sha256 FROM models WHERE product_key IN (SELECT product_key FROM chosen_products)
  UNION SELECT received_sha256 FROM models
    WHERE product_key IN (SELECT product_key FROM chosen_products) AND received_sha256 IS NOT NULL
  UNION SELECT sha256 FROM deliveries WHERE product_key IN (SELECT product_key FROM chosen_products)
  UNION SELECT sha256 FROM delivery_files
    WHERE stored = 1 AND sha256 IS NOT NULL AND product_key IN (SELECT product_key FROM chosen_products)
  UNION SELECT map.value FROM finishes, json_each(finishes.data, '$.maps') AS map
    WHERE map.type = 'text' AND finish_key IN (SELECT finish_key FROM chosen_finishes)
  UNION SELECT map.value FROM articles, json_each(articles.data, '$.maps') AS map
    WHERE map.type = 'text' AND article_key IN (SELECT article_key FROM chosen_articles)
  UNION SELECT json_extract(data, '$.supplied.file') FROM finishes
    WHERE json_type(data, '$.supplied.file') = 'text' AND finish_key IN (SELECT finish_key FROM chosen_finishes)`;

/**
 * A finish belongs to the archive when the line names it: in its range, rules or options, or its products in a schedule or a
 * delivery. @returns the code of the line as it is stored
 */
function choose(database: Sqlite.Database, line: string): string {
  const line_key = foldCode(line);
  const stored = database.prepare('SELECT line FROM lines WHERE line_key = ?').pluck().get(line_key) as
    | string
    | undefined;
  if (stored === undefined) {
    throw new Problem('unknown-line-code', { detail: PRODUCT_PROBLEMS['unknown-line-code'](line), received: line });
  }
  database.exec(`
    CREATE TEMP TABLE chosen_lines (line_key TEXT PRIMARY KEY);
    CREATE TEMP TABLE chosen_products (product_key TEXT PRIMARY KEY);
    CREATE TEMP TABLE chosen_finishes (finish_key TEXT PRIMARY KEY);
    CREATE TEMP TABLE chosen_articles (article_key TEXT PRIMARY KEY);
    CREATE TEMP TABLE chosen_files (sha256 TEXT PRIMARY KEY);`);
  database.prepare('INSERT INTO chosen_lines VALUES (?)').run(line_key);
  database.exec(`
    INSERT INTO chosen_products SELECT product_key FROM products WHERE line_key IN (SELECT line_key FROM chosen_lines);
    INSERT INTO chosen_finishes SELECT finish_key FROM finishes WHERE finish_key IN (
      SELECT finish_key FROM line_range WHERE line_key IN (SELECT line_key FROM chosen_lines)
      UNION SELECT lower(replaced_by) FROM line_range WHERE line_key IN (SELECT line_key FROM chosen_lines)
      UNION SELECT finish_key FROM schedule_uses WHERE product_key IN (SELECT product_key FROM chosen_products)
      UNION SELECT finish_key FROM delivery_uses WHERE product_key IN (SELECT product_key FROM chosen_products)
      UNION SELECT lower(named.value) FROM line_positions, json_each(options, '$.finishes') AS named
        WHERE line_key IN (SELECT line_key FROM chosen_lines)
      UNION SELECT lower(named.value) FROM slots, json_each(data, '$.options.finishes') AS named
        WHERE product_key IN (SELECT product_key FROM chosen_products)
      UNION SELECT lower(named.atom) FROM lines, json_tree(rules) AS named
        WHERE line_key IN (SELECT line_key FROM chosen_lines) AND named.type = 'text'
    );
    INSERT INTO chosen_articles SELECT DISTINCT article_key FROM finishes
      WHERE article_key IS NOT NULL AND finish_key IN (SELECT finish_key FROM chosen_finishes);`);
  return stored;
}

/** An image that is converted has a copy. */
function addCopies(database: Sqlite.Database): void {
  database.exec(`
    INSERT OR IGNORE INTO chosen_files SELECT json_extract(encoding, '$.asColour') FROM images
    WHERE sha256 IN (SELECT sha256 FROM chosen_files) AND json_extract(encoding, '$.asColour') IS NOT NULL`);
}

/** @throws Problem `database-newer` */
function requireSchema(database: Sqlite.Database): string {
  const last = database.prepare('SELECT max(name) FROM kysely_migration').pluck().get() as string;
  if (last in MIGRATIONS) return last;
  throw new Problem('database-newer', { detail: STORAGE_PROBLEMS['database-newer'] });
}

/** Writes rows as JSON, one per line, and notes the digests in them. */
async function writeRows(database: Sqlite.Database, table: string, condition: string, path: string) {
  const hash = createHash('sha256');
  const file = await open(path, 'wx');
  const found = new Set<string>();
  let rows = 0;
  let bytes = 0;
  let pending = '';
  const flush = async () => {
    const chunk = Buffer.from(pending);
    pending = '';
    hash.update(chunk);
    bytes += chunk.length;
    await file.writeFile(chunk);
    await setImmediate();
  };
  try {
    const all = database.prepare(`SELECT * FROM "${table}" WHERE ${condition}`);
    for (const row of all.iterate() as IterableIterator<Record<string, unknown>>) {
      pending += `${JSON.stringify(row)}\n`;
      rows++;
      if (!SILENT.has(table)) {
        for (const [column, value] of Object.entries(row)) {
          if (typeof value !== 'string' || SILENT_COLUMNS.has(`${table}.${column}`)) continue;
          for (const [sha256] of value.matchAll(DIGESTS)) found.add(sha256.toLowerCase());
        }
      }
      if (pending.length > WRITE_BYTES) await flush();
    }
    await flush();
  } finally {
    await file.close();
  }
  const add = database.prepare('INSERT OR IGNORE INTO chosen_files VALUES (?)');
  for (const sha256 of found) add.run(sha256);
  return { rows, bytes, sha256: hash.digest('hex') };
}
