import type { Kysely } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Schedule } from '../../server/core/schedule/schedule.ts';
import type { Tables } from '../tables.ts';
import { writeSchedule } from '../write-schedule.ts';

export function createScheduleStore(db: Kysely<Tables>): Pick<Stores, 'getSchedule' | 'putSchedule'> {
  return {
    async getSchedule(product) {
      const row = await db
        .selectFrom('schedules')
        .selectAll()
        .where('product_key', '=', foldCode(product))
        .executeTakeFirst();
      return row ? { schedule: JSON.parse(row.data) as Schedule, tag: row.tag } : null;
    },

    putSchedule: (product, schedule, ifTag) =>
      db.transaction().execute((tx) => writeSchedule(tx, product, schedule, ifTag)),
  };
}
