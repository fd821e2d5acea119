import type { Kysely, Transaction } from 'kysely';
import { Problem } from '../server/core/problems.ts';
import { PRODUCT_PROBLEMS } from '../server/core/texts/problems/product.ts';
import type { Tables } from './tables.ts';

/**
 * The next number of a product's models or deliveries. Numbers are never used again, not even by a product of the same
 * code that comes after this one: an address that was said never to change must not come to mean other bytes.
 * @throws Problem `unknown-product` when the product has gone meanwhile
 */
export async function takeNumber(
  tx: Transaction<Tables>,
  product_key: string,
  kind: 'revision' | 'delivery',
): Promise<number> {
  await needProduct(tx, product_key);
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
export async function needProduct(db: Kysely<Tables>, product_key: string): Promise<void> {
  const row = await db.selectFrom('products').select('code').where('product_key', '=', product_key).executeTakeFirst();
  if (row) return;
  throw new Problem('unknown-product', {
    detail: PRODUCT_PROBLEMS['unknown-product'].deleted,
    received: product_key,
  });
}
