import type { Kysely } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { CurrentModel, Stores } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import type { Product } from '../../server/core/product/product.ts';
import type { Slot } from '../../server/core/product/slot.ts';
import { takeNumber } from '../counters.ts';
import type { Tables } from '../tables.ts';

type ProductStore = Pick<
  Stores,
  | 'listProducts'
  | 'getProduct'
  | 'addProduct'
  | 'changeProduct'
  | 'deleteProduct'
  | 'getModel'
  | 'addModel'
  | 'listSlots'
  | 'changeSlot'
>;

export function createProductStore(db: Kysely<Tables>): ProductStore {
  const rows = () =>
    db
      .selectFrom('products')
      .leftJoin('lines', 'lines.line_key', 'products.line_key')
      .select(['products.code', 'products.name', 'lines.line', 'products.class', 'products.mount', 'products.sheet']);
  return {
    async listProducts() {
      return (await rows().orderBy('products.ordinal').execute()).map(readProduct);
    },

    async getProduct(code) {
      const row = await rows().where('products.product_key', '=', foldCode(code)).executeTakeFirst();
      return row ? readProduct(row) : null;
    },

    async addProduct(product) {
      const { numInsertedOrUpdatedRows } = await db
        .insertInto('products')
        .values({ product_key: foldCode(product.code), code: product.code, ...toRow(product) })
        .onConflict((on) => on.column('product_key').doNothing())
        .executeTakeFirst();
      if (numInsertedOrUpdatedRows !== 1n) {
        throw new Problem('duplicate-code', {
          detail: `There is a product with the code “${product.code}” already. Choose another code, or change that product.`,
          received: product.code,
        });
      }
    },

    async changeProduct(product) {
      await db.updateTable('products').set(toRow(product)).where('product_key', '=', foldCode(product.code)).execute();
    },

    async deleteProduct(code) {
      await db.deleteFrom('products').where('product_key', '=', foldCode(code)).execute();
    },

    async getModel(product) {
      const row = await db
        .selectFrom('models')
        .selectAll()
        .where('product_key', '=', foldCode(product))
        .orderBy('revision', 'desc')
        .limit(1)
        .executeTakeFirst();
      return row
        ? {
            revision: row.revision,
            sha256: row.sha256,
            bytes: row.bytes,
            receivedSha256: row.received_sha256,
            survey: JSON.parse(row.survey) as CurrentModel['survey'],
          }
        : null;
    },

    addModel(product, model, derive) {
      return db.transaction().execute(async (tx) => {
        const product_key = foldCode(product);
        const revision = await takeNumber(tx, product_key, 'revision');
        const { sha256, bytes, receivedSha256, survey } = model;
        await tx
          .insertInto('models')
          .values({
            product_key,
            revision,
            sha256,
            bytes,
            received_sha256: receivedSha256,
            survey: JSON.stringify(survey),
          })
          .execute();
        const slots = derive(await listSlots(tx, product_key));
        await tx.deleteFrom('slots').where('product_key', '=', product_key).execute();
        for (const [ordinal, slot] of slots.entries()) {
          await tx
            .insertInto('slots')
            .values({ product_key, slot: slot.slot, ordinal, data: JSON.stringify(slot) })
            .execute();
        }
        return { revision, sha256, bytes, receivedSha256, slots };
      });
    },

    listSlots: (product) => listSlots(db, foldCode(product)),

    changeSlot(product, key, change) {
      return db.transaction().execute(async (tx) => {
        const product_key = foldCode(product);
        const slot = (await listSlots(tx, product_key)).find((candidate) => candidate.slot === key);
        if (!slot) return null;
        const changed = change(slot);
        await tx
          .updateTable('slots')
          .set({ data: JSON.stringify(changed) })
          .where('product_key', '=', product_key)
          .where('slot', '=', key)
          .execute();
        return changed;
      });
    },
  };
}

async function listSlots(db: Kysely<Tables>, product_key: string): Promise<Slot[]> {
  const found = await db
    .selectFrom('slots')
    .select('data')
    .where('product_key', '=', product_key)
    .orderBy('ordinal')
    .execute();
  return found.map((row) => JSON.parse(row.data) as Slot);
}

function toRow(product: Product) {
  return {
    name: product.name,
    line_key: product.line === null ? null : foldCode(product.line),
    class: product.class,
    mount: product.mount,
    sheet: product.sheet && JSON.stringify(product.sheet),
  };
}

function readProduct(row: {
  code: string;
  name: string;
  line: string | null;
  class: string;
  mount: string;
  sheet: string | null;
}): Product {
  return {
    code: row.code,
    name: row.name,
    line: row.line,
    class: row.class as Product['class'],
    mount: row.mount as Product['mount'],
    sheet: row.sheet ? (JSON.parse(row.sheet) as Product['sheet']) : null,
  };
}
