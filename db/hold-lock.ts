import { closeSync, existsSync, openSync } from 'node:fs';
import { Database } from './open-database.ts';

/** Locks that are held: a connection that nothing refers to is closed when memory is collected, and its lock ends. */
const held = new Set<object>();

export interface Lock {
  /** May be called again. */
  release(): void;
}

/**
 * Takes an exclusive lock on a file, or returns null when another holder has it. The file is created when it is
 * missing, and stays empty.
 *
 * It is the lock that SQLite takes on a database: the system drops it when the process ends, however it ends. A file
 * with a process id does not do that, and ids repeat, above all in containers. The lock holds between all processes of
 * one machine, containers included. Between machines it needs a network file system with locks; SQLite's own data needs
 * them too.
 */
export function holdLock(path: string): Lock | null {
  // SQLite says only that it cannot open a file; the system says why. A file that exists may be locked by this process,
  // and closing it here would drop the lock.
  if (!existsSync(path)) closeSync(openSync(path, 'a'));
  const database = new Database(path, { timeout: 0 });
  try {
    // nothing is written, so no journal is needed; a full disk has no room for one
    database.pragma('journal_mode = MEMORY');
    database.exec('BEGIN EXCLUSIVE');
  } catch (error) {
    database.close();
    if (/^SQLITE_BUSY/.test((error as { code?: string }).code ?? '')) return null;
    throw error;
  }
  held.add(database);
  return {
    release() {
      held.delete(database);
      database.close();
    },
  };
}
