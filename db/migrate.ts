import type { Database } from 'better-sqlite3';
import { Kysely, type Migration, Migrator, SqliteAdapter, SqliteDialect } from 'kysely';
import { MIGRATIONS } from './migrations.ts';

/** `user_version` of a file whose migrations are listed in a table: more than any version that counted them. */
const LISTED = 1000;

/** SQLite can undo changes of tables, which Kysely does not assume: a migration that fails then leaves the file as it was. */
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
 * Runs the migrations a file has not seen, all in one transaction.
 * @throws Error where the file comes from a newer Dyeworks, or a migration fails; the file is then unchanged
 */
export async function migrate(database: Database): Promise<void> {
  listCounted(database);
  refuseNewer(database);
  const db = new Kysely<unknown>({ dialect: new TransactionalSqlite({ database }) });
  const migrator = new Migrator({ db, provider: { getMigrations: async () => wrapAll(database) } });
  const { error } = await migrator.migrateToLatest();
  if (error) throw error;
}

/** Each text holds several statements, which the driver runs as they are. */
function wrapAll(database: Database): Record<string, Migration> {
  return Object.fromEntries(
    Object.entries(MIGRATIONS).map(([name, text]) => [name, { up: async () => void database.exec(text) }]),
  );
}

/** Files used to count their migrations in `user_version`; Kysely's migrator lists them by name, in a table it would make so. */
function listCounted(database: Database): void {
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

function refuseNewer(database: Database): void {
  const names = database.prepare('SELECT name FROM kysely_migration').pluck().all() as string[];
  if (names.some((name) => !(name in MIGRATIONS))) throw newer();
}

function newer(): Error {
  return new Error('A newer Dyeworks has changed this database. Start that version, or use another data folder.');
}
