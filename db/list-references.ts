import { type Kysely, sql } from 'kysely';
import type { Tables } from './tables.ts';

/** A place that refers to a content file: a table, and the key of the row, which is the code where rows have one. */
export interface Reference {
  readonly sha256: string;
  readonly table: string;
  readonly row: readonly (string | number)[];
}

/**
 * Tables that refer to no file on their own: what they say of a file ends with the file, or has rules of its own below, or
 * their digests are not of files.
 * All other tables count, also those of later versions: a digest in any of their texts keeps the file.
 */
const SILENT = new Set([
  'images',
  'map_facts',
  'unused_files',
  'pictures',
  'product_summaries',
  'history',
  'sessions',
  'api_tokens',
  'resets',
  'audit',
  'archive_imports',
  'imported_audit',
  'kysely_migration',
]);

/** Long texts about a model. Digests in them are those of images within the model. */
export const SILENT_COLUMNS = new Set(['models.survey', 'models.pieces', 'models.places']);

const DIGESTS = /[0-9a-f]{64}/gi;

/** Text of one query. Reading and searching more would hold up other calls. */
const TEXT_AT_ONCE = 512 * 1024;
const ROWS_AT_ONCE = 1000;

/**
 * All references from the database to content files, in short queries with turns of the event loop in between. A digest
 * may come several times.
 *
 * The history of a finish keeps its maps, since an earlier revision can be used again. It ends with the finish: what is
 * before a deletion keeps nothing.
 */
export async function* listReferences(db: Kysely<Tables>): AsyncGenerator<Reference> {
  const images = new Set<string>();
  for await (const found of listDirect(db)) {
    images.add(found.sha256);
    yield found;
  }
  // the copy in sRGB of an image is needed as long as the image
  const copies = await sql<{ sha256: string; copy: string }>`
    SELECT sha256, json_extract(encoding, '$.asColour') AS copy FROM images
    WHERE json_extract(encoding, '$.asColour') IS NOT NULL
  `.execute(db);
  for (const { sha256, copy } of copies.rows) {
    if (images.has(sha256)) yield { sha256: copy, table: 'images', row: [sha256] };
  }
}

async function* listDirect(db: Kysely<Tables>): AsyncGenerator<Reference> {
  const { rows: tables } = await sql<{ name: string }>`
    SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'
  `.execute(db);
  for (const { name } of tables) if (!SILENT.has(name)) yield* scanTable(db, name, 'TRUE');
  yield* scanTable(
    db,
    'history',
    `(kind <> 'finish' OR (
      code_key IN (SELECT finish_key FROM finishes)
      AND ordinal > coalesce((
        SELECT max(gone.ordinal) FROM history AS gone
        WHERE gone.kind = 'finish' AND gone.code_key = history.code_key AND gone.what = 'deleted'
      ), 0)
    ))`,
  );
}

/** The columns of a table, in the order of its key. */
async function describeTable(db: Kysely<Tables>, table: string) {
  const { rows } = await sql<{ name: string; type: string; pk: number }>`
    SELECT name, type, pk FROM pragma_table_info(${table})
  `.execute(db);
  const keys = rows.filter(({ pk }) => pk > 0).sort((one, other) => one.pk - other.pk);
  const texts = rows.filter(({ name, type }) => type !== 'INTEGER' && !SILENT_COLUMNS.has(`${table}.${name}`));
  return { keys: keys.length > 0 ? keys.map(({ name }) => name) : ['rowid'], texts: texts.map(({ name }) => name) };
}

/** Reads a table in the order of its key, so that rows that come and go meanwhile hide no other row. */
async function* scanTable(db: Kysely<Tables>, table: string, condition: string): AsyncGenerator<Reference> {
  const { keys, texts } = await describeTable(db, table);
  if (texts.length === 0) return;
  const list = (names: readonly string[]) => sql.join(names.map((name) => sql.ref(name)));
  const code = texts.find((name) => name.endsWith('_key'));
  const named = code === undefined || keys.includes(code) ? keys : [code];
  let last: readonly (string | number)[] | null = null;
  let limit = 1;
  for (;;) {
    const after: ReturnType<typeof sql> = last ? sql`(${list(keys)}) > (${sql.join(last)})` : sql`TRUE`;
    const { rows } = await sql<Record<string, string | number | null>>`
      SELECT ${list([...new Set([...keys, ...texts])])} FROM ${sql.table(table)}
      WHERE ${after} AND ${sql.raw(condition)} ORDER BY ${list(keys)} LIMIT ${limit}
    `.execute(db);
    let read = 0;
    for (const row of rows) {
      const key = keys.map((name) => row[name]!);
      for (const name of texts) {
        const text = String(row[name] ?? '');
        read += text.length;
        for (const [sha256] of text.matchAll(DIGESTS)) {
          yield { sha256: sha256.toLowerCase(), table, row: named.map((of) => row[of] ?? '') };
        }
      }
      last = key;
    }
    if (rows.length < limit) return;
    limit = read > TEXT_AT_ONCE ? Math.max(1, limit >> 1) : Math.min(ROWS_AT_ONCE, limit * 2);
    await new Promise((resolve) => setImmediate(resolve));
  }
}
