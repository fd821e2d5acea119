import { type Kysely, sql, type Transaction } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import type { Product } from '../../server/core/product/product.ts';
import { PRODUCT_PROBLEMS } from '../../server/core/texts/problems/product.ts';
import type { Tables } from '../tables.ts';
import { deleteVariantApprovals } from './approval-store.ts';

type ProductStore = Pick<Stores, 'listProducts' | 'getProduct' | 'addProduct' | 'changeProduct' | 'deleteProduct'>;

export function createProductStore(db: Kysely<Tables>): ProductStore {
  const rows = () =>
    db
      .selectFrom('products')
      .leftJoin('lines', 'lines.line_key', 'products.line_key')
      .select([
        'products.code',
        'products.name',
        'lines.line',
        'products.class',
        'products.mount',
        'products.sheet',
        'products.budget',
      ]);
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
          detail: PRODUCT_PROBLEMS['duplicate-code'].product(product.code),
          received: product.code,
        });
      }
    },

    async changeProduct(product) {
      await db.updateTable('products').set(toRow(product)).where('product_key', '=', foldCode(product.code)).execute();
    },

    deleteProduct(code) {
      return db.transaction().execute(async (tx) => {
        const product_key = foldCode(code);
        // this also deletes models, slots, preparation, schedule and deliveries; counters stay on purpose
        await tx.deleteFrom('products').where('product_key', '=', product_key).execute();
        await deleteVariantApprovals(tx, product_key);
        await sql`
          UPDATE jobs SET data = json_set(data, '$.productGone', json('true'))
          WHERE lower(json_extract(data, '$.product')) = ${product_key}
        `.execute(tx);
      });
    },
  };
}

function toRow(product: Product) {
  return {
    name: product.name,
    line_key: product.line === null ? null : foldCode(product.line),
    class: product.class,
    mount: product.mount,
    sheet: product.sheet && JSON.stringify(product.sheet),
    budget: product.budget,
  };
}

function readProduct(row: {
  code: string;
  name: string;
  line: string | null;
  class: string;
  mount: string;
  sheet: string | null;
  budget: string;
}): Product {
  return {
    code: row.code,
    name: row.name,
    line: row.line,
    class: row.class as Product['class'],
    mount: row.mount as Product['mount'],
    sheet: row.sheet ? (JSON.parse(row.sheet) as Product['sheet']) : null,
    budget: row.budget,
  };
}

/**
 * Takes the next number of a product's models or deliveries. A number is never used again, not even by a later product
 * with the same code, so a permanent URL never gets other bytes.
 * @throws Problem `unknown-product` when the product was deleted in the meantime
 */
export async function takeNumber(
  tx: Transaction<Tables>,
  product_key: string,
  kind: 'revision' | 'delivery',
): Promise<number> {
  await requireProduct(tx, product_key);
  await tx
    .insertInto('counters')
    .values({ product_key, revision: 0, delivery: 0 })
    .onConflict((on) => on.column('product_key').doNothing())
    .execute();
  const row = await tx
    .updateTable('counters')
    .set((eb) => ({ [kind]: eb(kind, '+', 1) }))
    .where('product_key', '=', product_key)
    .returning(kind)
    .executeTakeFirstOrThrow();
  return row[kind];
}

/** @throws Problem `unknown-product` */
export async function requireProduct(db: Kysely<Tables>, product_key: string): Promise<void> {
  const row = await db.selectFrom('products').select('code').where('product_key', '=', product_key).executeTakeFirst();
  if (row) return;
  throw new Problem('unknown-product', {
    detail: PRODUCT_PROBLEMS['unknown-product'].deleted,
    received: product_key,
  });
}
