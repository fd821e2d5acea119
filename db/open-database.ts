import { mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import { Kysely, SqliteDialect } from 'kysely';
import { migrate } from './migrate.ts';
import { Database } from './sqlite.ts';
import type { Tables } from './tables.ts';

/** Opens (or makes) the SQLite file, brings it to the newest migration and hands out the query builder. */
export async function openDatabase(path: string): Promise<Kysely<Tables>> {
  if (path !== ':memory:') mkdirSync(dirname(path), { recursive: true });
  const sqlite = new Database(path);
  sqlite.pragma('journal_mode = WAL');
  // writes are few, and what was answered must outlive a power cut
  sqlite.pragma('synchronous = FULL');
  sqlite.pragma('foreign_keys = ON');
  // another process (the command line, a backup) may hold the file for a moment
  sqlite.pragma('busy_timeout = 5000');
  await migrate(sqlite);
  return new Kysely<Tables>({ dialect: new SqliteDialect({ database: sqlite }) });
}
