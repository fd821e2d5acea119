import { setImmediate } from 'node:timers/promises';
import { type Kysely, sql } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { DeliveryFile, DeliveryRecord, DeliverySummary } from '../../server/core/delivery/delivery.ts';
import type { SentSku } from '../../server/core/delivery/sku.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import { PRODUCT_PROBLEMS } from '../../server/core/texts/problems/product.ts';
import type { Tables } from '../tables.ts';
import { atomically, inParts } from '../transactions.ts';
import { takeNumber } from './product-store.ts';
import { readManifestText, writeManifestText } from './schedule-text.ts';

/** Files in one statement. */
const FILES_AT_ONCE = 100;
/** SKUs in one statement. */
const SKUS_AT_ONCE = 500;
/** Finishes in one statement. */
const USES_AT_ONCE = 200;
/** Codes of variants in one statement. Others have a turn after each: a long schedule would hold them up for some tens of ms. */
const CODES_AT_ONCE = 500;

export function createDeliveryStore(
  db: Kysely<Tables>,
): Pick<
  Stores,
  | 'listDeliveries'
  | 'getDelivery'
  | 'getDeliverySummary'
  | 'withdrawDelivery'
  | 'writeManifest'
  | 'addDelivery'
  | 'listDeliveriesWith'
  | 'listDeliveredCodes'
  | 'listDeliveredFinishes'
  | 'listSentSkus'
  | 'addSentSkus'
  | 'listDeliveryFiles'
  | 'getDeliveryFile'
  | 'addDeliveryFiles'
> {
  const selectFiles = (product: string, delivery: number) =>
    db
      .selectFrom('delivery_files')
      .select(['form', 'stored', 'sha256', 'bytes', 'media_type', 'details'])
      .where('product_key', '=', foldCode(product))
      .where('delivery', '=', delivery);
  return {
    async listDeliveries(product) {
      const rows = await selectSummaries(db, product).orderBy('delivery', 'desc').execute();
      return rows.map(toSummary);
    },

    async getDeliverySummary(product, delivery) {
      const rows = selectSummaries(db, product);
      const row = await (delivery === 'current'
        ? rows.where('withdrawn', 'is', null).orderBy('delivery', 'desc').limit(1)
        : rows.where('delivery', '=', delivery)
      ).executeTakeFirst();
      return row ? toSummary(row) : null;
    },

    withdrawDelivery(product, delivery, decide) {
      return atomically(db, async (tx) => {
        const row = await selectSummaries(tx, product).where('delivery', '=', delivery).executeTakeFirst();
        if (!row) throw unknownDelivery(product, delivery);
        await tx
          .updateTable('deliveries')
          .set({ withdrawn: JSON.stringify(decide(toSummary(row))) })
          .where('product_key', '=', foldCode(product))
          .where('delivery', '=', delivery)
          .execute();
      });
    },

    async getDelivery(product, delivery) {
      const row = await db
        .selectFrom('deliveries')
        .select(['manifest', 'note', 'withdrawn'])
        .where('product_key', '=', foldCode(product))
        .where('delivery', '=', delivery)
        .executeTakeFirst();
      return row ? { ...(await readManifestText(row.manifest)), ...toRecord(row) } : null;
    },

    writeManifest: writeManifestText,

    addDelivery(product, { manifest: written, beforeNumber, afterNumber }) {
      return atomically(db, async (tx) => {
        const product_key = foldCode(product);
        const delivery = await takeNumber(tx, product_key, 'delivery');
        const manifest = { ...written, delivery };
        await tx
          .insertInto('deliveries')
          .values({
            product_key,
            delivery: manifest.delivery,
            sha256: manifest.file.sha256,
            bytes: manifest.file.bytes,
            variants: manifest.variants.length,
            created_at: manifest.createdAt,
            manifest: `${beforeNumber}${delivery}${afterNumber}`,
            note: manifest.note ?? null,
          })
          .execute();
        const uses = [...new Set(manifest.finishes.map(({ finish }) => foldCode(finish)))];
        for (const part of inParts(uses, USES_AT_ONCE)) {
          await tx
            .insertInto('delivery_uses')
            .values(part.map((finish_key) => ({ product_key, delivery: manifest.delivery, finish_key })))
            .execute();
        }
        for (const part of inParts(manifest.variants, CODES_AT_ONCE)) {
          await setImmediate();
          await tx
            .insertInto('delivered_codes')
            .values(part.map(({ code }) => ({ product_key, code })))
            .onConflict((conflict) => conflict.doNothing())
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
      const rows = await db
        .selectFrom('delivered_codes')
        .select('code')
        .where('product_key', '=', foldCode(product))
        .execute();
      return rows.map(({ code }) => code);
    },

    async listDeliveredFinishes(product, delivery) {
      const rows = await db
        .selectFrom('delivery_uses')
        .select('finish_key')
        .where('product_key', '=', foldCode(product))
        .where('delivery', '=', delivery)
        .execute();
      return rows.map(({ finish_key }) => finish_key);
    },

    async listSentSkus(product, wanted) {
      const product_key = foldCode(product);
      const sent: SentSku[] = [];
      let last: string | null = null;
      for (;;) {
        const rows = await db
          .selectFrom('sent_skus')
          .select(['sku', 'choice'])
          .where('product_key', '=', product_key)
          .$if(last !== null, (query) => query.where('choice', '>', last!))
          .orderBy('choice')
          .limit(SKUS_AT_ONCE)
          .execute();
        sent.push(...rows);
        if (rows.length < SKUS_AT_ONCE) break;
        last = rows.at(-1)!.choice;
      }
      for (const part of inParts(wanted, SKUS_AT_ONCE)) {
        const keys = JSON.stringify(part.map(foldCode));
        const { rows } = await sql<{ sku: string }>`
          SELECT sku FROM json_each(${keys}) JOIN sent_skus ON sku_key = value WHERE product_key <> ${product_key}
        `.execute(db);
        sent.push(...rows.map(({ sku }) => ({ sku, choice: null })));
      }
      return sent;
    },

    addSentSkus(product, skus) {
      const product_key = foldCode(product);
      return atomically(db, async (tx) => {
        for (const part of inParts(skus, SKUS_AT_ONCE)) {
          const rows = JSON.stringify(part.map(({ sku, choice }) => [foldCode(sku), sku, choice]));
          await sql`
            INSERT OR IGNORE INTO sent_skus (sku_key, sku, product_key, choice)
            SELECT value ->> 0, value ->> 1, ${product_key}, value ->> 2 FROM json_each(${rows})
          `.execute(tx);
          // CROSS JOIN keeps this order: SQLite would else go through all SKUs of the product for each part
          const kept = await sql<{ count: number }>`
            SELECT count(*) AS count FROM json_each(${rows}) CROSS JOIN sent_skus ON sku_key = value ->> 0
            WHERE product_key = ${product_key} AND choice = value ->> 2
          `.execute(tx);
          if (kept.rows[0]!.count !== part.length) return false;
          await setImmediate();
        }
        return true;
      });
    },

    async listDeliveryFiles(product, delivery) {
      const rows = await selectFiles(product, delivery).orderBy('form').execute();
      return rows.map(toFile);
    },

    async getDeliveryFile(product, delivery, form) {
      const row = await selectFiles(product, delivery).where('form', '=', form).executeTakeFirst();
      return row ? toFile(row) : null;
    },

    addDeliveryFiles(product, delivery, files) {
      const product_key = foldCode(product);
      return atomically(db, async (tx) => {
        const known = await tx
          .selectFrom('deliveries')
          .select('delivery')
          .where('product_key', '=', product_key)
          .where('delivery', '=', delivery)
          .executeTakeFirst();
        if (!known) throw unknownDelivery(product, delivery);
        for (const part of inParts(files, FILES_AT_ONCE)) {
          const values = part.map((file) => ({ product_key, delivery, ...toRow(file) }));
          await tx
            .insertInto('delivery_files')
            .values(values)
            .onConflict((conflict) =>
              conflict
                .columns(['product_key', 'delivery', 'form'])
                .doUpdateSet(({ ref }) => ({
                  stored: ref('excluded.stored'),
                  sha256: ref('excluded.sha256'),
                  bytes: ref('excluded.bytes'),
                }))
                .where('delivery_files.sha256', 'is', null),
            )
            .execute();
        }
      });
    },
  };
}

function selectSummaries(db: Kysely<Tables>, product: string) {
  return db
    .selectFrom('deliveries')
    .select(['delivery', 'sha256', 'bytes', 'variants', 'created_at as createdAt', 'note', 'withdrawn'])
    .where('product_key', '=', foldCode(product));
}

interface RecordRow {
  readonly note: string | null;
  readonly withdrawn: string | null;
}

function toSummary({
  note,
  withdrawn,
  ...listed
}: RecordRow & Omit<DeliverySummary, keyof DeliveryRecord>): DeliverySummary {
  return { ...listed, ...toRecord({ note, withdrawn }) };
}

function toRecord({ note, withdrawn }: RecordRow): DeliveryRecord {
  return {
    ...(note !== null && { note }),
    ...(withdrawn !== null && { withdrawn: JSON.parse(withdrawn) as DeliveryRecord['withdrawn'] }),
  } as DeliveryRecord;
}

type FileRow = Omit<Tables['delivery_files'], 'product_key' | 'delivery'>;

function toFile({ form, stored, sha256, bytes, media_type: mediaType, details }: FileRow): DeliveryFile {
  return {
    form,
    stored: stored === 1,
    sha256,
    bytes,
    mediaType,
    details: JSON.parse(details) as DeliveryFile['details'],
  };
}

function toRow({ form, stored, sha256, bytes, mediaType, details }: DeliveryFile): FileRow {
  return { form, stored: stored ? 1 : 0, sha256, bytes, media_type: mediaType, details: JSON.stringify(details) };
}

function unknownDelivery(product: string, delivery: number): Problem {
  return new Problem('unknown-delivery', {
    detail: PRODUCT_PROBLEMS['unknown-delivery'](product, String(delivery)),
    received: delivery,
  });
}
