import { type Kysely, sql } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import { PRODUCT_PROBLEMS } from '../../server/core/texts/problems/product.ts';
import type { Tables } from '../tables.ts';
import { recordEvent } from './history-store.ts';
import { needSameLine } from './line-store.ts';
import { writeSchedule } from './schedule-store.ts';

/** What taking a finish out of a line asks of deliveries and schedules. */
export function createDiscontinueStore(
  db: Kysely<Tables>,
): Pick<Stores, 'applyDiscontinue' | 'listDeliveriesWith' | 'listDeliveredCodes'> {
  return {
    applyDiscontinue({ line, ifTag, finish, replacedBy, stamp, schedules }) {
      return db.transaction().execute(async (tx) => {
        await needSameLine(tx, line, ifTag);
        const { numUpdatedRows } = await tx
          .updateTable('line_range')
          .set({ status: 'discontinued', replaced_by: replacedBy })
          .where('line_key', '=', foldCode(line))
          .where('finish_key', '=', foldCode(finish))
          .executeTakeFirst();
        if (numUpdatedRows === 0n) {
          throw new Problem('not-in-range', {
            detail: PRODUCT_PROBLEMS['not-in-range'].removed(line, finish),
            received: finish,
          });
        }
        const stored = await tx
          .selectFrom('finishes')
          .select(['finish_key', 'revision'])
          .where('finish_key', '=', foldCode(finish))
          .executeTakeFirstOrThrow();
        await recordEvent(tx, stored, 'discontinued', stamp, { line, ...(replacedBy !== null && { replacedBy }) });
        for (const each of schedules) await writeSchedule(tx, each.product, each.schedule, each.ifTag);
      });
    },

    async listDeliveriesWith(finish) {
      const { rows } = await sql<{ product: string; delivery: number }>`
        SELECT products.code AS product, deliveries.delivery AS delivery
        FROM deliveries JOIN products ON products.product_key = deliveries.product_key
        WHERE EXISTS (
          SELECT 1 FROM json_each(deliveries.manifest, '$.finishes') AS listed
          WHERE lower(json_extract(listed.value, '$.finish')) = ${foldCode(finish)}
        )
        ORDER BY products.ordinal, deliveries.delivery
      `.execute(db);
      return rows;
    },

    async listDeliveredCodes(product) {
      const { rows } = await sql<{ code: string }>`
        SELECT DISTINCT json_extract(listed.value, '$.code') AS code
        FROM deliveries, json_each(deliveries.manifest, '$.variants') AS listed
        WHERE deliveries.product_key = ${foldCode(product)}
      `.execute(db);
      return rows.map(({ code }) => code);
    },
  };
}
