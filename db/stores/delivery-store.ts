import type { Kysely } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';
import { takeNumber } from './product-store.ts';
import { readManifestText, writeManifestText } from './schedule-text.ts';

/** Finishes in one statement. */
const USES_AT_ONCE = 200;

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
      return row ? readManifestText(row.manifest) : null;
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
            manifest: await writeManifestText(manifest),
          })
          .execute();
        const uses = [...new Set(manifest.finishes.map(({ finish }) => foldCode(finish)))];
        for (let from = 0; from < uses.length; from += USES_AT_ONCE) {
          const part = uses.slice(from, from + USES_AT_ONCE);
          await tx
            .insertInto('delivery_uses')
            .values(part.map((finish_key) => ({ product_key, delivery: manifest.delivery, finish_key })))
            .execute();
        }
        return manifest;
      });
    },

    async listDeliveriesWith(finish) {
      return db
        .selectFrom('delivery_uses')
        .innerJoin('products', 'products.product_key', 'delivery_uses.product_key')
        .select(['products.code as product', 'delivery_uses.delivery'])
        .where('finish_key', '=', foldCode(finish))
        .orderBy('products.ordinal')
        .orderBy('delivery_uses.delivery')
        .execute();
    },

    async listDeliveredCodes(product) {
      const of = db.selectFrom('deliveries').where('product_key', '=', foldCode(product));
      const codes = new Set<string>();
      for (const { delivery } of await of.select('delivery').execute()) {
        const row = await of.select('manifest').where('delivery', '=', delivery).executeTakeFirst();
        if (!row) continue;
        for (const { code } of (await readManifestText(row.manifest)).variants) codes.add(code);
      }
      return [...codes];
    },
  };
}
