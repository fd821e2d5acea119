import { existsSync } from 'node:fs';
import { mkdir, readdir, readFile, rename, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { type Kysely, sql } from 'kysely';
import { checkRows } from './check-rows.ts';
import { createFiles, DIGEST, digestFile, listContent } from './create-files.ts';
import { createPictureStore, digest, PARTIAL } from './create-picture-store.ts';
import { listReferences } from './list-references.ts';
import { Database, openDatabase } from './open-database.ts';
import { sweepFiles } from './sweep-files.ts';
import type { Tables } from './tables.ts';

/** Kinds of remarks on a data folder. Those in `FAULTS` are wrong; the others only take space. */
export const REMARKS = [
  'damaged-database',
  'broken-row',
  'broken-json',
  'broken-audit',
  'wrong-uses',
  'low-counter',
  'lost-revision',
  'missing-file',
  'wrong-length',
  'damaged-file',
  'damaged-picture',
  'missing-picture',
  'stray-picture',
  'leftover',
  'unused-file',
  'foreign-file',
] as const;

export interface Remark {
  readonly code: (typeof REMARKS)[number];
  /** What it is about: a digest, a key, a path in the folder, or the words of SQLite. */
  readonly subject: string;
  /** The rows that refer to a file, the first few. */
  readonly places: readonly string[];
  readonly mended: boolean;
}

export interface CheckedData {
  readonly remarks: readonly Remark[];
  readonly files: number;
  readonly pictures: number;
}

interface CheckOptions {
  /** The data folder. The caller holds its lock. */
  readonly folder: string;
  readonly mend: boolean;
  readonly graceMs: number;
}

const PLACES = 3;
const ROWS_AT_ONCE = 500;

/**
 * Checks a data folder that no service uses: the database, content files, pictures and what crashes left behind. Like a
 * start of the service, it brings the database of an older version up to date.
 *
 * Mending deletes what is not needed or can be made again. A damaged content file moves to the folder `damaged`, so that
 * the same file can be uploaded again. A missing file and a damaged database need a backup.
 */
export async function checkData({ folder, mend, graceMs }: CheckOptions): Promise<CheckedData> {
  const path = join(folder, 'dyeworks.sqlite');
  const wrong = checkIntegrity(path);
  if (wrong.length > 0) return { remarks: wrong, files: 0, pictures: 0 };
  const db = await openDatabase(path);
  try {
    const folders = { root: folder, files: join(folder, 'files'), pictures: join(folder, 'pictures') };
    const remarks = await listBrokenRows(db);
    remarks.push(...(await checkRows(db, mend)));
    remarks.push(...(await checkLeftovers(folders, mend)));
    const content = await checkContent(db, folders, mend);
    const pictures = await checkPictures(db, folders.pictures, mend);
    remarks.push(...content.remarks, ...pictures.remarks);
    if (mend) {
      const files = createFiles(folders.files);
      const store = createPictureStore(db, folders.pictures, Number.POSITIVE_INFINITY);
      await sweepFiles({ db, files, pictures: store, graceMs, askedMs: 0 });
    }
    const unused = content.unused.map((sha256): Remark => {
      const mended = mend && !existsSync(join(folders.files, sha256.slice(0, 2), sha256));
      return { code: 'unused-file', subject: sha256, places: [], mended };
    });
    return { remarks: [...remarks, ...unused], files: content.count, pictures: pictures.count };
  } finally {
    await db.destroy();
  }
}

function checkIntegrity(path: string): Remark[] {
  const found = (subject: string): Remark => ({ code: 'damaged-database', subject, places: [], mended: false });
  let sqlite: InstanceType<typeof Database> | undefined;
  try {
    sqlite = new Database(path, { fileMustExist: true });
    const lines = sqlite.pragma('integrity_check(20)') as { integrity_check: string }[];
    return lines.flatMap(({ integrity_check: line }) => (line === 'ok' ? [] : [found(line)]));
  } catch (error) {
    if (!/^SQLITE_(CORRUPT|NOTADB)/.test((error as { code?: string }).code ?? '')) throw error;
    return [found((error as Error).message)];
  } finally {
    sqlite?.close();
  }
}

async function listBrokenRows(db: Kysely<Tables>): Promise<Remark[]> {
  const { rows } = await sql<{ table: string; rowid: number | null; parent: string }>`
    SELECT "table", rowid, parent FROM pragma_foreign_key_check
  `.execute(db);
  return rows.map(({ table, rowid, parent }) => ({
    code: 'broken-row',
    subject: `${table} ${rowid ?? ''} → ${parent}`,
    places: [],
    mended: false,
  }));
}

interface Folders {
  readonly root: string;
  readonly files: string;
  readonly pictures: string;
}

const readFolder = (path: string) => (existsSync(path) ? readdir(path) : []);

async function checkLeftovers({ files, pictures }: Folders, mend: boolean): Promise<Remark[]> {
  const temporary = (await readFolder(join(files, 'temporary'))).map((name) => join(files, 'temporary', name));
  const partial = (await readFolder(pictures)).filter((name) => name.endsWith(PARTIAL));
  const remarks: Remark[] = [];
  for (const path of [...temporary, ...partial.map((name) => join(pictures, name))]) {
    if (mend) await rm(path, { recursive: true, force: true });
    remarks.push({ code: 'leftover', subject: path, places: [], mended: mend });
  }
  return remarks;
}

async function checkContent(db: Kysely<Tables>, { root, files }: Folders, mend: boolean) {
  const places = new Map<string, string[]>();
  for await (const { sha256, table, row } of listReferences(db)) {
    const known = places.get(sha256) ?? [];
    if (known.length < PLACES) known.push(`${table} ${row.join('/')}`);
    places.set(sha256, known);
  }
  const remarks: Remark[] = [];
  const unused: string[] = [];
  const there = new Set<string>();
  if (existsSync(files)) {
    for await (const names of listContent(files)) {
      for (const name of names) {
        const path = join(files, name.slice(0, 2), name);
        if (!DIGEST.test(name)) remarks.push({ code: 'foreign-file', subject: path, places: [], mended: false });
        else if ((await digestFile(path)) === name) {
          there.add(name);
          if (!places.has(name)) unused.push(name);
        } else {
          if (mend) await setAside(root, path, name);
          remarks.push({ code: 'damaged-file', subject: name, places: places.get(name) ?? [], mended: mend });
          // the damaged file counts as there, since it is reported already
          if (!mend) there.add(name);
        }
      }
    }
  }
  for (const { sha256 } of await listFileReferences(db)) {
    const of = places.get(sha256) ?? [];
    if (!there.has(sha256)) remarks.push({ code: 'missing-file', subject: sha256, places: of, mended: false });
  }
  for (const { place, sha256, bytes } of await listLengths(db)) {
    const path = join(files, sha256.slice(0, 2), sha256);
    if (!there.has(sha256) || (await stat(path)).size === bytes) continue;
    remarks.push({ code: 'wrong-length', subject: sha256, places: [place], mended: false });
  }
  return { remarks, unused, count: there.size };
}

/**
 * The references that are certainly to files. Other digests in the database, such as those of an approved look, name no
 * file, so their absence says nothing.
 */
export async function listFileReferences(db: Kysely<Tables>): Promise<{ readonly sha256: string }[]> {
  const { rows } = await sql<{ sha256: string }>`
    SELECT sha256 FROM models UNION SELECT received_sha256 FROM models WHERE received_sha256 IS NOT NULL
    UNION SELECT sha256 FROM deliveries
    UNION SELECT sha256 FROM delivery_files WHERE stored = 1 AND sha256 IS NOT NULL
    UNION SELECT map.value FROM finishes, json_each(finishes.data, '$.maps') AS map WHERE map.type = 'text'
    UNION SELECT map.value FROM articles, json_each(articles.data, '$.maps') AS map WHERE map.type = 'text'
    UNION SELECT json_extract(data, '$.supplied.file') FROM finishes WHERE json_type(data, '$.supplied.file') = 'text'
  `.execute(db);
  return rows.filter(({ sha256 }) => DIGEST.test(sha256));
}

/** Rows that state the length of their file: a download would be cut, or wait for more. */
async function listLengths(db: Kysely<Tables>) {
  const { rows } = await sql<{ place: string; sha256: string; bytes: number }>`
    SELECT 'models ' || product_key || '/' || revision AS place, sha256, bytes FROM models
    UNION ALL SELECT 'deliveries ' || product_key || '/' || delivery, sha256, bytes FROM deliveries
    UNION ALL SELECT 'delivery_files ' || product_key || '/' || delivery || '/' || form, sha256, bytes
      FROM delivery_files WHERE stored = 1 AND sha256 IS NOT NULL
    UNION ALL SELECT 'images ' || sha256, sha256, bytes FROM images
  `.execute(db);
  return rows.filter(({ sha256 }) => DIGEST.test(sha256));
}

async function setAside(root: string, path: string, name: string): Promise<void> {
  await mkdir(join(root, 'damaged'), { recursive: true });
  await rename(path, join(root, 'damaged', name));
}

async function checkPictures(db: Kysely<Tables>, folder: string, mend: boolean) {
  const remarks: Remark[] = [];
  const names = new Set((await readFolder(folder)).filter((name) => !name.endsWith(PARTIAL)));
  const count = names.size;
  const report = async (code: Remark['code'], key: string) => {
    if (mend) {
      await rm(join(folder, key), { force: true });
      await db.deleteFrom('pictures').where('picture_key', '=', key).execute();
    }
    remarks.push({ code, subject: key, places: [], mended: mend });
  };
  for (let last = ''; ; ) {
    const rows = await db
      .selectFrom('pictures')
      .select(['picture_key', 'bytes', 'sha256'])
      .where('picture_key', '>', last)
      .orderBy('picture_key')
      .limit(ROWS_AT_ONCE)
      .execute();
    for (const { picture_key: key, bytes, sha256 } of rows) {
      last = key;
      if (!names.delete(key)) await report('missing-picture', key);
      else if (!(await isWhole(join(folder, key), bytes, sha256))) await report('damaged-picture', key);
    }
    if (rows.length < ROWS_AT_ONCE) break;
  }
  for (const key of names) await report('stray-picture', key);
  return { remarks, count };
}

async function isWhole(path: string, bytes: number, sha256: string): Promise<boolean> {
  return (await stat(path)).size === bytes && (await digest(await readFile(path))) === sha256;
}
