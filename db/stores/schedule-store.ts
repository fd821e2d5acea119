import type { Kysely } from 'kysely';
import { LRUCache } from 'lru-cache';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores, TaggedSchedule } from '../../server/core/ports/stores.ts';
import type { Schedule } from '../../server/core/schedule/schedule.ts';
import type { Tables } from '../tables.ts';
import { writeSchedule } from '../write-schedule.ts';

export function createScheduleStore(db: Kysely<Tables>): Pick<Stores, 'getSchedule' | 'putSchedule'> {
  /** By product: every part of a job asks for its product's schedule, and a large one takes a while to read. */
  const held = new LRUCache<string, TaggedSchedule>({ max: 8 });

  return {
    async getSchedule(product) {
      const key = foldCode(product);
      const found = db.selectFrom('schedules').where('product_key', '=', key);
      const now = await found.select('tag').executeTakeFirst();
      const known = now && held.get(key);
      if (known?.tag === now?.tag) return known ?? null;
      // it may have changed once more, or be gone
      const row = await found.select(['tag', 'data']).executeTakeFirst();
      if (!row) return null;
      const read = { schedule: JSON.parse(row.data) as Schedule, tag: row.tag };
      held.set(key, read);
      return read;
    },

    putSchedule: (product, schedule, ifTag) =>
      db.transaction().execute((tx) => writeSchedule(tx, product, schedule, ifTag)),
  };
}
