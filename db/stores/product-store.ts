import { type Kysely, type RawBuilder, sql, type Transaction } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { ProductSummary, Stores } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import { deletedProduct, type Product } from '../../server/core/product/product.ts';
import { PRODUCT_PROBLEMS } from '../../server/core/texts/problems/product.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';
import { deleteVariantApprovals } from './approval-store.ts';

type ProductStore = Pick<
  Stores,
  | 'listSummaries'
  | 'putSummary'
  | 'listProducts'
  | 'getProduct'
  | 'getIdentity'
  | 'addProduct'
  | 'changeProduct'
  | 'deleteProduct'
>;

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
        'products.sku_template',
      ]);
  return {
    async listProducts() {
      return (await rows().orderBy('products.ordinal').execute()).map(readProduct);
    },

    async listSummaries({ limit, after }, maker) {
      const listed = await rows()
        .leftJoin('product_summaries as kept', 'kept.product_key', 'products.product_key')
        .select(['products.ordinal', 'kept.stamp', 'kept.data', makeStamp(maker).as('now')])
        .where('products.ordinal', '>', after)
        .orderBy('products.ordinal')
        .limit(limit)
        .execute();
      return listed.map((row) => ({
        product: readProduct(row),
        place: row.ordinal,
        stamp: row.now,
        summary: row.stamp === row.now ? (JSON.parse(row.data!) as ProductSummary) : null,
      }));
    },

    async putSummary(code, stamp, summary) {
      const data = JSON.stringify(summary);
      await db
        .insertInto('product_summaries')
        .columns(['product_key', 'stamp', 'data'])
        // a product that was deleted in the meantime gets none
        .expression(
          db
            .selectFrom('products')
            .select(['product_key', sql.val(stamp).as('stamp'), sql.val(data).as('data')])
            .where('product_key', '=', foldCode(code)),
        )
        .onConflict((on) => on.column('product_key').doUpdateSet({ stamp, data }))
        .execute();
    },

    async getProduct(code) {
      const row = await rows().where('products.product_key', '=', foldCode(code)).executeTakeFirst();
      return row ? readProduct(row) : null;
    },

    async getIdentity(product) {
      const row = await db
        .selectFrom('products')
        .select(['ordinal as id', 'current_revision as revision'])
        .where('product_key', '=', foldCode(product))
        .executeTakeFirst();
      return row ?? null;
    },

    async addProduct(product) {
      const { numInsertedOrUpdatedRows } = await atomically(db, (tx) =>
        tx
          .insertInto('products')
          .values({ product_key: foldCode(product.code), code: product.code, ...toRow(product) })
          .onConflict((on) => on.column('product_key').doNothing())
          .executeTakeFirst(),
      );
      if (numInsertedOrUpdatedRows !== 1n) {
        throw new Problem('duplicate-code', {
          detail: PRODUCT_PROBLEMS['duplicate-code'].product(product.code),
          received: product.code,
        });
      }
    },

    async changeProduct(product) {
      await atomically(db, (tx) =>
        tx.updateTable('products').set(toRow(product)).where('product_key', '=', foldCode(product.code)).execute(),
      );
    },

    deleteProduct(code) {
      return atomically(db, async (tx) => {
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

/** All that a summary depends on, as a text that changes with it: see the migration `product-summaries`. */
function makeStamp(maker: string) {
  const count = (scope: RawBuilder<string>) => sql`coalesce((SELECT count FROM changes WHERE scope = ${scope}), 0)`;
  return sql<string>`
    ${sql.val(maker)} || ' ' || ${count(sql`'all'`)} || ' ' || ${count(sql`'product:' || products.product_key`)} || ' '
    || coalesce(products.line_key, '') || ' ' || ${count(sql`'line:' || products.line_key`)} || ' '
    || CASE WHEN EXISTS (SELECT 1 FROM line_range WHERE line_range.line_key = products.line_key) THEN ''
       ELSE ${count(sql`'finishes'`)} END`;
}

function toRow(product: Product) {
  return {
    name: product.name,
    line_key: product.line === null ? null : foldCode(product.line),
    class: product.class,
    mount: product.mount,
    sheet: product.sheet && JSON.stringify(product.sheet),
    budget: product.budget,
    sku_template: product.skuTemplate ?? null,
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
  sku_template: string | null;
}): Product {
  return {
    code: row.code,
    name: row.name,
    line: row.line,
    class: row.class as Product['class'],
    mount: row.mount as Product['mount'],
    sheet: row.sheet ? (JSON.parse(row.sheet) as Product['sheet']) : null,
    budget: row.budget,
    ...(row.sku_template !== null && { skuTemplate: row.sku_template }),
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
  if (!row) throw deletedProduct(product_key);
}
