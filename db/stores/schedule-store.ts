import { createHash } from 'node:crypto';
import type { Kysely, Transaction } from 'kysely';
import { LRUCache } from 'lru-cache';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores, TaggedSchedule } from '../../server/core/ports/stores.ts';
import { requireExpected } from '../../server/core/precondition.ts';
import { Problem } from '../../server/core/problems.ts';
import type { Schedule } from '../../server/core/schedule/schedule.ts';
import { FINISH_PROBLEMS } from '../../server/core/texts/problems/finish.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';
import { requireProduct } from './product-store.ts';

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
): Pick<Stores, 'getSchedule' | 'putSchedule'> {
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
      const read = { schedule: JSON.parse(row.data) as Schedule, tag: row.tag };
      held.set(key, read);
      return read;
    },

    putSchedule: (product, schedule, ifTag) => atomically(db, (tx) => writeSchedule(tx, product, schedule, ifTag)),
  };
}

/**
 * Writes a schedule in a transaction.
 * @param ifTag see `requireExpected`
 * @throws Problem `stale-schedule`, `unknown-product`, `unknown-finish`
 */
export async function writeSchedule(
  tx: Transaction<Tables>,
  product: string,
  schedule: Schedule,
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
  const data = JSON.stringify(schedule);
  const tag = createHash('sha256').update(data).digest('hex');
  await tx
    .insertInto('schedules')
    .values({ product_key, tag, data })
    .onConflict((on) => on.column('product_key').doUpdateSet({ tag, data }))
    .execute();
  await tx.deleteFrom('schedule_uses').where('product_key', '=', product_key).execute();
  const uses = countUses(schedule);
  await requireFinishes(tx, [...uses.keys()]);
  for (const [finish_key, variants] of uses) {
    await tx.insertInto('schedule_uses').values({ product_key, finish_key, variants }).execute();
  }
  return { schedule, tag };
}

/** A finish may have been deleted since the schedule was checked. */
async function requireFinishes(tx: Transaction<Tables>, keys: readonly string[]): Promise<void> {
  const rows = await tx.selectFrom('finishes').select('finish_key').execute();
  const there = new Set(rows.map((row) => row.finish_key));
  const gone = keys.find((key) => !there.has(key));
  if (gone === undefined) return;
  throw new Problem('unknown-finish', {
    detail: FINISH_PROBLEMS['unknown-finish'].deleted(gone),
    received: gone,
  });
}

/** How many variants use each finish. */
function countUses(schedule: Schedule): Map<string, number> {
  const uses = new Map<string, number>();
  for (const variant of schedule.variants) {
    for (const finish of new Set(Object.values(variant.choices).map(foldCode))) {
      uses.set(finish, (uses.get(finish) ?? 0) + 1);
    }
  }
  return uses;
}
