import type { Kysely } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { DeliveryManifest } from '../../server/core/delivery/delivery.ts';
import type { ImageEncoding } from '../../server/core/finish/map-image.ts';
import type { StoredImage, Stores } from '../../server/core/ports/stores.ts';
import { takeNumber } from '../counters.ts';
import type { Tables } from '../tables.ts';

export function createDeliveryStore(
  db: Kysely<Tables>,
): Pick<Stores, 'listDeliveries' | 'getDelivery' | 'addDelivery' | 'addFile' | 'getFile'> {
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
      return db.transaction().execute(async (tx) => {
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

    async addFile(file) {
      const encoding = file.encoding && JSON.stringify(file.encoding);
      await db
        .insertInto('images')
        .values({
          sha256: file.sha256,
          bytes: file.bytes,
          mime_type: file.mimeType,
          width_px: file.widthPx,
          height_px: file.heightPx,
          encoding,
        })
        .onConflict((on) => on.column('sha256').doUpdateSet({ encoding }).where('images.encoding', 'is', null))
        .execute();
    },

    async getFile(sha256) {
      const row = await db.selectFrom('images').selectAll().where('sha256', '=', sha256).executeTakeFirst();
      return row
        ? {
            sha256: row.sha256,
            bytes: row.bytes,
            mimeType: row.mime_type as StoredImage['mimeType'],
            widthPx: row.width_px,
            heightPx: row.height_px,
            encoding: row.encoding === null ? null : (JSON.parse(row.encoding) as ImageEncoding),
          }
        : null;
    },
  };
}
