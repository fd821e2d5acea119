import { createHash } from 'node:crypto';
import { createReadStream, existsSync } from 'node:fs';
import { link, mkdir, open, readdir, readFile, rename, rm, stat } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { sql } from 'kysely';
import { Problem } from '../server/core/problems.ts';
import { BACKUP_PROBLEMS } from '../server/core/texts/problems/backup.ts';
import { listFileReferences } from './check-data.ts';
import { digestFile } from './create-files.ts';
import { holdLock } from './hold-lock.ts';
import { listReferences } from './list-references.ts';
import { Database, openDatabase } from './open-database.ts';

// A backup is a folder: the database and the content files as in a data folder, `SHA256SUMS` over all of them in the form that
// `sha256sum -c` reads, and `backup.json` over that. It gets its name last, so a backup that was cut off has none.

const FORMAT = 'dyeworks-backup/1';
const DATABASE = 'dyeworks.sqlite';
const SUMS = 'SHA256SUMS';
const STATEMENT = 'backup.json';
const SUM = /^([0-9a-f]{64}) {2}(dyeworks\.sqlite|files\/[0-9a-f]{2}\/[0-9a-f]{64})$/;

export interface Backup {
  /** ISO 8601: the backup has the state of this moment. */
  readonly at: string;
  readonly files: number;
  /** Of database and files. */
  readonly bytes: number;
}

interface Statement extends Backup {
  readonly format: string;
  /** Version of the program that made it. */
  readonly version: string;
  /** SHA-256 of `SHA256SUMS`. */
  readonly sums: string;
}

interface BackupOptions {
  /** The data folder; a service may use it. */
  readonly folder: string;
  /** The folder to make. */
  readonly target: string;
  /** Links content files where the disk is the same; they are never changed in place. */
  readonly link?: boolean;
  readonly version: string;
  readonly now: () => Date;
}

/**
 * Makes a backup of a data folder, also while a service uses it. It only reads there, so it needs no lock: SQLite shows it one
 * moment and holds up no writer. A file is stored before the database names it, and is deleted days after nothing does, so
 * every file that the copied database names is there.
 *
 * Pictures are left out, since they can be made again; so are sessions, which may end after the backup and must not come back.
 * @throws Problem `folder-not-empty`, `folder-busy`, `backup-damaged` where a content file is missing or damaged
 */
export function backUp({ folder, target, link: links = false, version, now }: BackupOptions): Promise<Backup> {
  return makeFolder(target, async (part) => {
    const at = now().toISOString();
    copyDatabase(join(folder, DATABASE), join(part, DATABASE));
    const named = await prepareCopy(join(part, DATABASE));
    const sums: string[] = [];
    let bytes = 0;
    const wrong: string[] = [];
    for (const [sha256, needed] of named) {
      const path = `files/${sha256.slice(0, 2)}/${sha256}`;
      const size = await copyContent(join(folder, path), join(part, path), sha256, links);
      if (size === null) {
        if (needed) wrong.push(sha256);
        continue;
      }
      sums.push(`${sha256}  ${path}\n`);
      bytes += size;
    }
    if (wrong.length > 0) {
      throw new Problem('backup-damaged', { detail: BACKUP_PROBLEMS['backup-damaged'].source(wrong), received: wrong });
    }
    const database = join(part, DATABASE);
    sums.push(`${await digestFile(database)}  ${DATABASE}\n`);
    bytes += (await stat(database)).size;
    await writeSynced(join(part, SUMS), sums.join(''));
    const files = sums.length - 1;
    const statement: Statement = { format: FORMAT, version, at, files, bytes, sums: digestText(sums.join('')) };
    await writeSynced(join(part, STATEMENT), `${JSON.stringify(statement, null, 2)}\n`);
    return { at, files, bytes };
  });
}

/**
 * Makes a data folder of a backup, and compares every file with its digest on the way.
 * @throws Problem `folder-not-empty`, `folder-busy`, `backup-damaged`, `backup-newer`
 */
export async function restoreBackup(backup: string, folder: string): Promise<Backup> {
  const { sums, ...statement } = await readStatement(backup);
  const list = await readFile(join(backup, SUMS), 'utf8').catch(() => damaged(SUMS));
  if (digestText(list) !== sums) damaged(SUMS);
  const lines = list.split('\n').filter(Boolean);
  return makeFolder(folder, async (part) => {
    let hasDatabase = false;
    for (const line of lines) {
      const [, sha256, path] = SUM.exec(line) ?? damaged(SUMS);
      if ((await copyContent(join(backup, path!), join(part, path!), sha256!, false)) === null) damaged(path!);
      hasDatabase ||= path === DATABASE;
    }
    if (!hasDatabase) damaged(DATABASE);
    const copied = new Set(lines.map((line) => line.slice(0, 64)));
    const named = await prepareCopy(join(part, DATABASE));
    const missing = [...named].find(([sha256, needed]) => needed && !copied.has(sha256));
    if (missing) damaged(`files/${missing[0].slice(0, 2)}/${missing[0]}`);
    const { at, files, bytes } = statement;
    return { at, files, bytes };
  });
}

async function readStatement(backup: string): Promise<Statement> {
  const text = await readFile(join(backup, STATEMENT), 'utf8').catch(() => null);
  if (text === null) {
    throw new Problem('backup-damaged', { detail: BACKUP_PROBLEMS['backup-damaged'].none(backup), received: backup });
  }
  let statement: Partial<Statement> | null = null;
  try {
    statement = JSON.parse(text) as Partial<Statement> | null;
  } catch {
    damaged(STATEMENT);
  }
  const { format, at, files, bytes, sums, version } = statement ?? {};
  if (typeof format === 'string' && format !== FORMAT && /^dyeworks-backup\/\d+$/.test(format)) {
    const detail = BACKUP_PROBLEMS['backup-newer'](format, String(version));
    throw new Problem('backup-newer', { detail, expected: FORMAT, received: format });
  }
  if (format !== FORMAT || typeof at !== 'string' || typeof files !== 'number' || typeof bytes !== 'number') {
    damaged(STATEMENT);
  }
  if (typeof sums !== 'string' || typeof version !== 'string') damaged(STATEMENT);
  return { format, at, files, bytes, sums, version } as Statement;
}

function damaged(where: string): never {
  throw new Problem('backup-damaged', { detail: BACKUP_PROBLEMS['backup-damaged'].file(where), where });
}

/** SQLite's own copy of one moment. Its backup API begins anew with each write of a service, and might never end. */
function copyDatabase(from: string, to: string): void {
  const source = new Database(from, { fileMustExist: true, readonly: true });
  try {
    source.pragma('busy_timeout = 5000');
    source.prepare('VACUUM INTO ?').run(to);
  } finally {
    source.close();
  }
}

/**
 * Brings a copy to the present version and takes out what a backup does not keep.
 * @returns the digests that it names, and whether each is certainly of a file
 */
async function prepareCopy(path: string): Promise<Map<string, boolean>> {
  const db = await openDatabase(path);
  const named = new Map<string, boolean>();
  try {
    for (const table of ['pictures', 'sessions', 'resets', 'unused_files'] as const)
      await db.deleteFrom(table).execute();
    const { rows } = await sql<{ integrity_check: string }>`PRAGMA integrity_check(1)`.execute(db);
    if (rows[0]?.integrity_check !== 'ok') damaged(DATABASE);
    for await (const { sha256 } of listReferences(db)) named.set(sha256, false);
    for (const { sha256 } of await listFileReferences(db)) named.set(sha256, true);
    await sql`PRAGMA journal_mode = DELETE`.execute(db);
  } finally {
    await db.destroy();
  }
  await syncFile(path);
  return named;
}

/** @returns the bytes; null when the file is missing or has another digest */
async function copyContent(from: string, to: string, sha256: string, links: boolean): Promise<number | null> {
  await mkdir(dirname(to), { recursive: true });
  try {
    if (links && (await tryLink(from, to))) {
      if ((await digestFile(to)) === sha256) return (await stat(to)).size;
      await rm(to);
      return null;
    }
    const hash = createHash('sha256');
    const file = await open(to, 'wx');
    let bytes = 0;
    try {
      for await (const chunk of createReadStream(from, { highWaterMark: 1024 * 1024 })) {
        hash.update(chunk as Buffer);
        bytes += (chunk as Buffer).length;
        await file.writeFile(chunk as Buffer);
      }
      await file.sync();
    } finally {
      await file.close();
    }
    if (hash.digest('hex') === sha256) return bytes;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
  }
  await rm(to, { force: true });
  return null;
}

/** Not every disk has links, and none has them to another disk. */
function tryLink(from: string, to: string): Promise<boolean> {
  return link(from, to).then(
    () => true,
    (error: NodeJS.ErrnoException) => {
      if (/^(EXDEV|EPERM|ENOTSUP|EMLINK|ENOSYS)$/.test(error.code ?? '')) return false;
      throw error;
    },
  );
}

/**
 * Makes a folder under another name, and renames it when it is complete and synced. A folder that a killed process left is
 * removed by the next try.
 * @throws Problem `folder-not-empty`, `folder-busy`
 */
async function makeFolder<T>(target: string, fill: (part: string) => Promise<T>): Promise<T> {
  const path = resolve(target);
  const part = `${path}.partial`;
  if (existsSync(path) && (await readdir(path)).length > 0) {
    throw new Problem('folder-not-empty', { detail: BACKUP_PROBLEMS['folder-not-empty'](path), received: path });
  }
  await mkdir(part, { recursive: true });
  const lockPath = join(part, 'lock.sqlite');
  const lock = holdLock(lockPath);
  if (!lock) throw new Problem('folder-busy', { detail: BACKUP_PROBLEMS['folder-busy'](part), received: part });
  try {
    for (const left of await readdir(part)) {
      if (!left.startsWith('lock.sqlite')) await rm(join(part, left), { recursive: true, force: true });
    }
    const result = await fill(part);
    lock.release();
    await rm(lockPath, { force: true });
    await syncFolders(part);
    await rename(part, path);
    await syncFile(dirname(path));
    return result;
  } catch (error) {
    lock.release();
    await rm(part, { recursive: true, force: true });
    throw error;
  }
}

async function syncFolders(folder: string): Promise<void> {
  const files = join(folder, 'files');
  if (existsSync(files)) {
    for (const name of await readdir(files)) await syncFile(join(files, name));
    await syncFile(files);
  }
  await syncFile(folder);
}

/** Some systems cannot open a folder. */
async function syncFile(path: string): Promise<void> {
  const handle = await open(path, 'r').catch(() => null);
  try {
    await handle?.sync();
  } catch (error) {
    if (/^(EIO|ENOSPC|EDQUOT)$/.test((error as NodeJS.ErrnoException).code ?? '')) throw error;
  } finally {
    await handle?.close();
  }
}

async function writeSynced(path: string, text: string): Promise<void> {
  const file = await open(path, 'wx');
  try {
    await file.writeFile(text);
    await file.sync();
  } finally {
    await file.close();
  }
}

const digestText = (text: string) => createHash('sha256').update(text).digest('hex');
