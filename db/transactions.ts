import { AsyncLocalStorage } from 'node:async_hooks';
import type Sqlite from 'better-sqlite3';
import { type DatabaseConnection, type Kysely, SqliteDialect, SqliteDriver, type Transaction } from 'kysely';

// A SQLite file has one connection. While a transaction holds it, every other call waits. A transaction that awaits a call
// outside itself would therefore wait for ever: such a call is refused instead.

/** The transaction that the running code belongs to. `open` ends with it: work that it started may go on longer. */
const within = new AsyncLocalStorage<{ open: boolean }>();

/**
 * SQLite over better-sqlite3 that refuses a call which would wait for its own transaction. On a full disk, SQLite rolls a
 * transaction back by itself. A second rollback would fail, and its error would hide the cause.
 */
export class GuardedSqliteDialect extends SqliteDialect {
  readonly #sqlite: Sqlite.Database;

  constructor(sqlite: Sqlite.Database) {
    super({ database: sqlite });
    this.#sqlite = sqlite;
  }

  override createDriver() {
    const sqlite = this.#sqlite;
    return new (class extends SqliteDriver {
      override async acquireConnection(): Promise<DatabaseConnection> {
        if (within.getStore()?.open) {
          throw new Error('A call inside a transaction did not use the stores of the transaction.');
        }
        return super.acquireConnection();
      }

      override async rollbackTransaction(connection: DatabaseConnection): Promise<void> {
        if (sqlite.inTransaction) await super.rollbackTransaction(connection);
      }
    })({ database: sqlite });
  }
}

/**
 * Does work in one transaction: all of its writes are stored, or none. In a transaction it joins that one, so a failure must
 * reach the end of the outer work.
 */
export function atomically<Tables, T>(db: Kysely<Tables>, work: (tx: Transaction<Tables>) => Promise<T>): Promise<T> {
  if (db.isTransaction) return work(db as Transaction<Tables>);
  return db.transaction().execute(async (tx) => {
    const own = { open: true };
    try {
      return await within.run(own, () => work(tx));
    } finally {
      own.open = false;
    }
  });
}
