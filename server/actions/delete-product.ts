import type { Context } from './context.ts';
import { getProduct } from './load-product.ts';

/**
 * Deletes a product with its models, schedule, deliveries and approvals. One that takes its code afterwards inherits
 * nothing: only the numbers of revisions and deliveries go on, so that an old address never means other bytes.
 * @throws Problem `unknown-product`
 */
export async function deleteProduct(context: Context, code: string): Promise<void> {
  const { code: product } = await getProduct(context, code);
  await context.stores.deleteProduct(product);
  context.jobs.disown(product);
}
