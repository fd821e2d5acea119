import { setImmediate } from 'node:timers/promises';
import type { Kysely, Transaction } from 'kysely';
import { LRUCache } from 'lru-cache';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores, TaggedSchedule, WrittenSchedule } from '../../server/core/ports/stores.ts';
import { requireExpected } from '../../server/core/precondition.ts';
import { Problem } from '../../server/core/problems.ts';
import type { Schedule } from '../../server/core/schedule/schedule.ts';
import { FINISH_PROBLEMS } from '../../server/core/texts/problems/finish.ts';
import type { Tables } from '../tables.ts';
import { atomically, inParts } from '../transactions.ts';
import { requireProduct } from './product-store.ts';
import { readScheduleText, writeScheduleText } from './schedule-text.ts';

/** Three schedules of twenty thousand rows of five slots. */
const HELD_BYTES = 48 * 1024 * 1024;
/** Memory of a row, and of a choice in it, without the texts that rows share. Measured with `process.memoryUsage`. */
const ROW_BYTES = 400;
const CHOICE_BYTES = 40;

function estimateBytes({ variants }: Schedule): number {
  const choices = variants.length === 0 ? 0 : Object.keys(variants[0]!.choices).length;
  return 1000 + variants.length * (ROW_BYTES + choices * CHOICE_BYTES);
}

/**
 * Parsed schedules by product. Every part of a job reads the schedule of its product, and a large one takes a while to parse.
 * The tag is the digest of the content, so a transaction may share them before it ends.
 */
export type HeldSchedules = LRUCache<string, TaggedSchedule>;

export function createHeldSchedules(): HeldSchedules {
  return new LRUCache({ maxSize: HELD_BYTES, sizeCalculation: ({ schedule }) => estimateBytes(schedule) });
}

export function createScheduleStore(
  db: Kysely<Tables>,
  held: HeldSchedules,
): Pick<Stores, 'getSchedule' | 'writeSchedule' | 'putSchedule' | 'deleteSchedule'> {
  return {
    async getSchedule(product) {
      const key = foldCode(product);
      const found = db.selectFrom('schedules').where('product_key', '=', key);
      const now = await found.select('tag').executeTakeFirst();
      const known = now && held.get(key);
      if (known?.tag === now?.tag) return known ?? null;
      // it may have changed again, or been deleted
      const row = await found.select(['tag', 'data']).executeTakeFirst();
      if (!row) return null;
      const read = { schedule: await readScheduleText(row.data), tag: row.tag };
      held.set(key, read);
      return read;
    },

    async writeSchedule(schedule) {
      return { schedule, ...(await writeScheduleText(schedule)), uses: await countUses(schedule) };
    },

    putSchedule: (product, written, ifTag) => atomically(db, (tx) => storeSchedule(tx, product, written, ifTag)),

    deleteSchedule: (product) =>
      atomically(db, async (tx) => {
        const product_key = foldCode(product);
        await tx.deleteFrom('schedule_uses').where('product_key', '=', product_key).execute();
        await tx.deleteFrom('schedules').where('product_key', '=', product_key).execute();
      }),
  };
}

/**
 * Stores a schedule in a transaction.
 * @param ifTag see `requireExpected`
 * @throws Problem `stale-schedule`, `unknown-product`, `unknown-finish`
 */
export async function storeSchedule(
  tx: Transaction<Tables>,
  product: string,
  { schedule, data, tag, uses: counted }: WrittenSchedule,
  ifTag: string | null,
): Promise<TaggedSchedule> {
  const product_key = foldCode(product);
  await requireProduct(tx, product_key);
  const before = await tx
    .selectFrom('schedules')
    .select('tag')
    .where('product_key', '=', product_key)
    .executeTakeFirst();
  requireExpected('schedule', product, before?.tag ?? null, ifTag);
  await tx
    .insertInto('schedules')
    .values({ product_key, tag, data })
    .onConflict((on) => on.column('product_key').doUpdateSet({ tag, data }))
    .execute();
  await tx.deleteFrom('schedule_uses').where('product_key', '=', product_key).execute();
  const uses = [...counted].map(([finish_key, variants]) => ({
    product_key,
    finish_key,
    variants,
  }));
  for (const part of inParts(uses, USES_AT_ONCE)) {
    await requireFinishes(
      tx,
      part.map(({ finish_key }) => finish_key),
    );
    await tx.insertInto('schedule_uses').values(part).execute();
  }
  return { schedule, tag };
}

/** Finishes in one statement. */
const USES_AT_ONCE = 200;

/** A finish may have been deleted since the schedule was checked. */
async function requireFinishes(tx: Transaction<Tables>, keys: readonly string[]): Promise<void> {
  const rows = await tx.selectFrom('finishes').select('finish_key').where('finish_key', 'in', keys).execute();
  const there = new Set(rows.map((row) => row.finish_key));
  const gone = keys.find((key) => !there.has(key));
  if (gone === undefined) return;
  throw new Problem('unknown-finish', {
    detail: FINISH_PROBLEMS['unknown-finish'].deleted(gone),
    received: gone,
  });
}

/** Rows that are counted in one go. */
const ROWS_AT_ONCE = 2000;

/** How many variants use each finish. */
async function countUses({ variants }: Schedule): Promise<Map<string, number>> {
  const keys = new Map<string, string>();
  const uses = new Map<string, number>();
  for (let row = 0; row < variants.length; row++) {
    if (row > 0 && row % ROWS_AT_ONCE === 0) await setImmediate();
    const used = new Set<string>();
    for (const code of Object.values(variants[row]!.choices)) {
      let key = keys.get(code);
      if (key === undefined) keys.set(code, (key = foldCode(code)));
      used.add(key);
    }
    for (const key of used) uses.set(key, (uses.get(key) ?? 0) + 1);
  }
  return uses;
}
