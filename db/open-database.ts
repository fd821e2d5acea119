import { mkdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname } from 'node:path';
import type Sqlite from 'better-sqlite3';
import { Kysely, type Migration, Migrator, SqliteAdapter, SqliteDialect } from 'kysely';
import { Problem } from '../server/core/problems.ts';
import { STORAGE_PROBLEMS } from '../server/core/texts/problems/storage.ts';
import { MIGRATIONS } from './migrations.ts';
import type { Tables } from './tables.ts';
import { GuardedSqliteDialect } from './transactions.ts';

const require = createRequire(import.meta.url);

/**
 * The class `Database` of better-sqlite3, in the version that fits this Node. Version 12 ends the process on Node 24
 * when it garbage-collects a statement. Version 13 crashes on Node 20, which lacks version 10 of Node-API. Version 13
 * contains its binaries. Version 12 downloads or compiles one, so it is an optional dependency.
 */
export const Database: typeof Sqlite =
  Number(process.versions.napi) >= 10 ? require('better-sqlite3-napi') : require('better-sqlite3');

/**
 * Opens the SQLite file, or creates it, and runs the migrations that it lacks.
 * @throws Problem `database-newer`; the errors of SQLite for a damaged file, or one that it cannot write
 */
export async function openDatabase(path: string): Promise<Kysely<Tables>> {
  if (path !== ':memory:') mkdirSync(dirname(path), { recursive: true });
  const sqlite = new Database(path);
  try {
    return await prepare(sqlite);
  } catch (error) {
    sqlite.close();
    throw error;
  }
}

async function prepare(sqlite: Sqlite.Database): Promise<Kysely<Tables>> {
  sqlite.pragma('journal_mode = WAL');
  // there are few writes, and a write that the service has confirmed must survive a power cut
  sqlite.pragma('synchronous = FULL');
  sqlite.pragma('foreign_keys = ON');
  // another process (the command line, a backup) may lock the file for a moment
  sqlite.pragma('busy_timeout = 5000');
  await migrate(sqlite);
  return new Kysely<Tables>({ dialect: new GuardedSqliteDialect(sqlite) });
}

/** `user_version` of a file that lists its migrations in a table. Higher than any count of migrations. */
const LISTED = 1000;

/** SQLite can roll back changes of tables, which Kysely does not assume. So a migration that fails leaves the file unchanged. */
class TransactionalSqlite extends SqliteDialect {
  override createAdapter() {
    return new (class extends SqliteAdapter {
      override get supportsTransactionalDdl() {
        return true;
      }
    })();
  }
}

/**
 * Runs the migrations that a file lacks, all in one transaction.
 * @throws Problem `database-newer`; Error when a migration fails; the file is then unchanged
 */
export async function migrate(database: Sqlite.Database): Promise<void> {
  listCounted(database);
  refuseNewer(database);
  const db = new Kysely<unknown>({ dialect: new TransactionalSqlite({ database }) });
  const migrator = new Migrator({ db, provider: { getMigrations: async () => wrapAll(database) } });
  const { error } = await migrator.migrateToLatest();
  if (error) throw error;
}

/** Each migration is a text of several statements. The driver runs it unchanged. */
function wrapAll(database: Sqlite.Database): Record<string, Migration> {
  return Object.fromEntries(
    Object.entries(MIGRATIONS).map(([name, text]) => [name, { up: async () => void database.exec(text) }]),
  );
}

/** Older files count their migrations in `user_version`. This lists them in the table that Kysely's migrator reads. */
function listCounted(database: Sqlite.Database): void {
  const counted = database.pragma('user_version', { simple: true }) as number;
  if (counted === LISTED) return;
  const names = Object.keys(MIGRATIONS);
  if (counted > names.length) throw newer();
  database.transaction(() => {
    database.exec(
      'CREATE TABLE kysely_migration (name varchar(255) NOT NULL PRIMARY KEY, timestamp varchar(255) NOT NULL)',
    );
    const list = database.prepare('INSERT INTO kysely_migration VALUES (?, ?)');
    for (const name of names.slice(0, counted)) list.run(name, new Date(0).toISOString());
    database.pragma(`user_version = ${LISTED}`);
  })();
}

function refuseNewer(database: Sqlite.Database): void {
  const names = database.prepare('SELECT name FROM kysely_migration').pluck().all() as string[];
  if (names.some((name) => !(name in MIGRATIONS))) throw newer();
}

function newer(): Problem {
  return new Problem('database-newer', { detail: STORAGE_PROBLEMS['database-newer'] });
}
