import { setImmediate } from 'node:timers/promises';
import type { Kysely, Transaction } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Finish, StoredFinish } from '../../server/core/finish/finish.ts';
import type { Change } from '../../server/core/history/history.ts';
import type { Tables } from '../tables.ts';
import { apartFromCalls, atomically, inParts } from '../transactions.ts';
import { type RootLists, readFinish } from './finish-lists.ts';
import { BATCH, type KnownAs, type PlannedRow, planBatch, staleFinish, writeRows } from './write-finishes.ts';

/**
 * Stores thousands of finishes, all or none, in many short transactions, so that other calls wait for one of them only:
 * 1. The rows are written to a table of their own, in batches.
 * 2. One short transaction marks them as stored. From then on, the lists contain them.
 * 3. They move to their place, in batches. Whoever writes, or reads a single finish, waits for that.
 * If the process ends before the second step, the next start deletes the rows; after it, the next start moves them.
 */
export interface StagedImports {
  putAll(finishes: readonly Finish[], knownAs: KnownAs, change: Change): Promise<void>;
  /** Resolves when every finish is in its place. */
  settled(): Promise<void>;
  /** Does work in a transaction that begins when every finish is in its place. */
  whenSettled<T>(work: (tx: Transaction<Tables>) => Promise<T>): Promise<T>;
}

/** An import was marked while a transaction waited to begin. */
const AGAIN = Symbol('again');

export function createStagedImports(db: Kysely<Tables>, lists: RootLists): StagedImports {
  let recovered: Promise<void> | null = null;
  let moving: Promise<void> | null = null;
  /** Whether rows are marked as stored and not all of them in their place. */
  let pending = false;
  let last: Promise<unknown> = Promise.resolve();

  async function recover(): Promise<void> {
    const marked = await db.selectFrom('switched_imports').select('change').executeTakeFirst();
    if (marked) pending = true;
    else await clear(db);
  }

  /** After a failure, the next caller tries again. */
  async function settled(): Promise<void> {
    recovered ??= recover().catch((error: unknown) => {
      recovered = null;
      throw error;
    });
    await recovered;
    if (!pending) return;
    // whoever comes first moves them, and the call that imported them has its record
    moving ??= apartFromCalls(() => moveAll(db)).finally(() => {
      moving = null;
    });
    await moving;
    pending = false;
  }

  async function putAll(finishes: readonly Finish[], knownAs: KnownAs, change: Change): Promise<void> {
    await settled();
    const staged: StoredFinish[] = [];
    const begun = lists.countWrites();
    let all: StoredFinish[];
    try {
      for (let from = 0; from < finishes.length; from += BATCH) {
        const batch = finishes.slice(from, from + BATCH);
        staged.push(...(await atomically(db, (tx) => stage(tx, batch, knownAs))));
        await setImmediate();
      }
      if (staged.length === 0) return;
      all = await mark(begun, change, staged);
    } catch (error) {
      // rows that stay are never marked, and the next start deletes them
      await clear(db).catch(() => undefined);
      throw error;
    }
    lists.replace(all);
    await settled();
  }

  /** Marks the staged rows as stored. @returns all finishes from now on @throws Problem `stale-finishes` */
  async function mark(begun: number, change: Change, staged: readonly StoredFinish[]): Promise<StoredFinish[]> {
    for (;;) {
      // reading and merging may take long, so both are done before
      const before = await lists.listFinishes();
      const writes = lists.countWrites();
      const all = await merge(before, staged);
      const marked = await atomically(db, async (tx) => {
        if (lists.countWrites() !== writes) return false;
        if (writes !== begun) await requireUnchanged(tx);
        await tx
          .insertInto('switched_imports')
          .values({ change: JSON.stringify(change) })
          .execute();
        // before the end, so that no waiting transaction begins unaware of it
        pending = true;
        return true;
      }).catch((error: unknown) => {
        pending = false;
        throw error;
      });
      if (marked) return all;
    }
  }

  return {
    settled,
    async whenSettled<T>(work: (tx: Transaction<Tables>) => Promise<T>): Promise<T> {
      for (;;) {
        await settled();
        const result = await atomically(db, async (tx): Promise<T | typeof AGAIN> => (pending ? AGAIN : work(tx)));
        if (result !== AGAIN) return result;
      }
    },
    putAll(finishes, knownAs, change) {
      const done = last.then(() => putAll(finishes, knownAs, change));
      last = done.catch(() => undefined);
      return done;
    },
  };
}

async function stage(tx: Transaction<Tables>, batch: readonly Finish[], knownAs: KnownAs): Promise<StoredFinish[]> {
  const rows = (await planBatch(tx, batch, knownAs)).flatMap(({ row }) => row ?? []);
  if (rows.length > 0) {
    await tx
      .insertInto('staged_finishes')
      .values(rows.map((row) => ({ ...row, known: knownAs(readFinish(row).finish) })))
      .execute();
  }
  return rows.map(readFinish);
}

/**
 * Other calls may have written finishes since the rows were staged. This one query over all rows takes some 50 ms for 50,000; it
 * runs only if someone did.
 */
async function requireUnchanged(tx: Transaction<Tables>): Promise<void> {
  const stale = await tx
    .selectFrom('staged_finishes as staged')
    .leftJoin('finishes', 'finishes.finish_key', 'staged.finish_key')
    .leftJoin('retired_finishes as retired', 'retired.finish_key', 'staged.finish_key')
    .select(['staged.data', 'staged.revision'])
    .where((eb) =>
      eb.or([
        eb('finishes.revision', 'is distinct from', eb.ref('staged.known')),
        eb('retired.revision', '>=', eb.ref('staged.revision')),
      ]),
    )
    .executeTakeFirst();
  if (stale) throw staleFinish(readFinish(stale).finish);
}

/** Moves the marked rows to their place. A batch takes some milliseconds; then other calls get a turn. */
async function moveAll(db: Kysely<Tables>): Promise<void> {
  for (let left = true; left; ) {
    left = await atomically(db, async (tx) => {
      const marked = await tx.selectFrom('switched_imports').select('change').executeTakeFirst();
      if (!marked) return false;
      const rows = await tx.selectFrom('staged_finishes').selectAll().orderBy('ordinal').limit(BATCH).execute();
      if (rows.length === 0) {
        await tx.deleteFrom('switched_imports').execute();
        return false;
      }
      const planned = rows.map(({ ordinal: _, known: __, ...row }): PlannedRow => row);
      await writeRows(tx, planned, JSON.parse(marked.change) as Change);
      await tx.deleteFrom('staged_finishes').where('ordinal', '<=', rows.at(-1)!.ordinal).execute();
      return true;
    });
    await setImmediate();
  }
}

async function clear(db: Kysely<Tables>): Promise<void> {
  await db.deleteFrom('staged_finishes').execute();
}

/** Finishes that are merged in one go, some milliseconds. */
const MERGED_AT_ONCE = 1000;

/** The list with changed finishes at their place, and new ones at the end. */
async function merge(before: readonly StoredFinish[], staged: readonly StoredFinish[]): Promise<StoredFinish[]> {
  const byKey = new Map<string, StoredFinish>();
  for (const part of inParts(staged, MERGED_AT_ONCE)) {
    for (const finish of part) byKey.set(foldCode(finish.finish), finish);
    await setImmediate();
  }
  const all: StoredFinish[] = [];
  for (const part of inParts(before, MERGED_AT_ONCE)) {
    for (const finish of part) {
      const key = foldCode(finish.finish);
      all.push(byKey.get(key) ?? finish);
      byKey.delete(key);
    }
    await setImmediate();
  }
  for (const finish of byKey.values()) all.push(finish);
  return all;
}
