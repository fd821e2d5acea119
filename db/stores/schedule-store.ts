import type { Kysely } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores, TaggedSchedule } from '../../server/core/ports/stores.ts';
import type { Schedule } from '../../server/core/schedule/schedule.ts';
import type { Tables } from '../tables.ts';
import { writeSchedule } from '../write-schedule.ts';

/** Schedules held as they were read: each part of a job asks for its product's, and a large one takes a while to read. */
const HELD = 8;

export function createScheduleStore(db: Kysely<Tables>): Pick<Stores, 'getSchedule' | 'putSchedule'> {
  /** By product, the last one used last. */
  const held = new Map<string, TaggedSchedule>();

  return {
    async getSchedule(product) {
      const key = foldCode(product);
      const found = db.selectFrom('schedules').where('product_key', '=', key);
      const now = await found.select('tag').executeTakeFirst();
      let known = held.get(key);
      held.delete(key);
      if (!now) return null;
      if (known?.tag !== now.tag) {
        // it may have changed once more, or be gone
        const row = await found.select(['tag', 'data']).executeTakeFirst();
        if (!row) return null;
        known = { schedule: JSON.parse(row.data) as Schedule, tag: row.tag };
      }
      held.set(key, known);
      if (held.size > HELD) held.delete(held.keys().next().value!);
      return known;
    },

    putSchedule: (product, schedule, ifTag) =>
      db.transaction().execute((tx) => writeSchedule(tx, product, schedule, ifTag)),
  };
}
