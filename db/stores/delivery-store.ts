import { type Kysely, sql } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { DeliveryManifest } from '../../server/core/delivery/delivery.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';
import { takeNumber } from './product-store.ts';

export function createDeliveryStore(
  db: Kysely<Tables>,
): Pick<Stores, 'listDeliveries' | 'getDelivery' | 'addDelivery' | 'listDeliveriesWith' | 'listDeliveredCodes'> {
  return {
    async listDeliveries(product) {
      const rows = await db
        .selectFrom('deliveries')
        .select(['delivery', 'sha256', 'bytes', 'variants', 'created_at as createdAt'])
        .where('product_key', '=', foldCode(product))
        .orderBy('delivery', 'desc')
        .execute();
      return rows;
    },

    async getDelivery(product, delivery) {
      const row = await db
        .selectFrom('deliveries')
        .select('manifest')
        .where('product_key', '=', foldCode(product))
        .where('delivery', '=', delivery)
        .executeTakeFirst();
      return row ? (JSON.parse(row.manifest) as DeliveryManifest) : null;
    },

    addDelivery(product, finish) {
      return atomically(db, async (tx) => {
        const product_key = foldCode(product);
        const manifest = finish(await takeNumber(tx, product_key, 'delivery'));
        await tx
          .insertInto('deliveries')
          .values({
            product_key,
            delivery: manifest.delivery,
            sha256: manifest.file.sha256,
            bytes: manifest.file.bytes,
            variants: manifest.variants.length,
            created_at: manifest.createdAt,
            manifest: JSON.stringify(manifest),
          })
          .execute();
        return manifest;
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
