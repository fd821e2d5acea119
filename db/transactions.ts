import { AsyncLocalStorage } from 'node:async_hooks';
import type Sqlite from 'better-sqlite3';
import {
  type CompiledQuery,
  type DatabaseConnection,
  type Kysely,
  type QueryResult,
  SqliteDialect,
  SqliteDriver,
  type Transaction,
} from 'kysely';
import type { CallRecord } from '../server/core/ports/access.ts';
import type { Tables } from './tables.ts';
import { writeRecord } from './write-record.ts';

// A SQLite file has one connection. While a transaction holds it, every other call waits. A transaction that awaits a call
// outside itself would therefore wait for ever: such a call is refused instead.
//
// Each change of the trade goes through `atomically`, which writes the record of its call in the same transaction. So no action
// has to think of the record, and neither can be stored without the other.

interface Own {
  /** Ends with the transaction: work that it started may go on longer. */
  open: boolean;
  /** The call that has changed something of the trade in it. */
  changedBy: CallRecord | null;
}

/** The transaction that the running code belongs to. */
const within = new AsyncLocalStorage<Own>();

/** The call that the running code belongs to, if it is one that the audit records. */
const calls = new AsyncLocalStorage<CallRecord | null>();

/** Tables that a call may write without changing the trade: what is only kept to be quick, and people, whose changes are events. */
const APART: ReadonlySet<string> = new Set<keyof Tables>([
  'product_summaries',
  'changes',
  'unused_files',
  'map_facts',
  'pictures',
  'staged_finishes',
  'people',
  'person_lines',
  'sessions',
  'api_tokens',
  'resets',
  'audit',
]);

const WRITE = /^\s*(?:insert(?:\s+or\s+\w+)?\s+into|replace\s+into|update(?:\s+or\s+\w+)?|delete\s+from)\s+"?(\w+)/i;

/** Does the work of a call: its first transaction that changes something of the trade also writes its record. */
export function recordIn<T>(call: CallRecord, work: () => T): T {
  return calls.run(call, work);
}

/** Does work that a call only comes across: it would be the same for any other caller. */
export function apartFromCalls<T>(work: () => T): T {
  return calls.run(null, work);
}

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
      #watched: DatabaseConnection | null = null;

      override async acquireConnection(): Promise<DatabaseConnection> {
        if (within.getStore()?.open) {
          throw new Error('A call inside a transaction did not use the stores of the transaction.');
        }
        const connection = await super.acquireConnection();
        this.#watched ??= watchWrites(connection);
        return this.#watched;
      }

      override async rollbackTransaction(connection: DatabaseConnection): Promise<void> {
        if (sqlite.inTransaction) await super.rollbackTransaction(connection);
      }
    })({ database: sqlite });
  }
}

/** Notes in each transaction whether a call changes something of the trade. A change outside of transactions is refused. */
function watchWrites(connection: DatabaseConnection): DatabaseConnection {
  return {
    async executeQuery<Row>(query: CompiledQuery): Promise<QueryResult<Row>> {
      const call = calls.getStore();
      const table = call && WRITE.exec(query.sql)?.[1];
      if (!call || !table || APART.has(table)) return connection.executeQuery<Row>(query);
      const own = within.getStore();
      if (!own?.open)
        throw new Error(`A call changed "${table}" outside of a transaction, which would have no record.`);
      const result = await connection.executeQuery<Row>(query);
      if ((result.numAffectedRows ?? result.rows.length) > 0) own.changedBy = call;
      return result;
    },
    streamQuery: (query, chunkSize) => connection.streamQuery(query, chunkSize),
  };
}

/**
 * Does work in one transaction: all of its writes are stored, or none. In a transaction it joins that one, so a failure must
 * reach the end of the outer work.
 */
export async function atomically<T>(db: Kysely<Tables>, work: (tx: Transaction<Tables>) => Promise<T>): Promise<T> {
  if (db.isTransaction) return work(db as Transaction<Tables>);
  const own: Own = { open: false, changedBy: null };
  const result = await db.transaction().execute(async (tx) => {
    own.open = true;
    try {
      return await within.run(own, async () => {
        const done = await work(tx);
        if (own.changedBy && !own.changedBy.written) await writeRecord(tx, own.changedBy.make());
        return done;
      });
    } finally {
      own.open = false;
    }
  });
  if (own.changedBy) own.changedBy.written = true;
  return result;
}

/** A list in parts, since a statement takes only so many values. */
export function* inParts<T>(list: readonly T[], most: number): Generator<readonly T[]> {
  for (let from = 0; from < list.length; from += most) yield list.slice(from, from + most);
}
