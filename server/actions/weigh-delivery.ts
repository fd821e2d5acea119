import { foldCode } from '../core/codes.ts';
import { type DeliveryWeight, weighDelivery } from '../core/delivery/weigh-delivery.ts';
import type { Context } from './context.ts';
import { getDelivery } from './delivery-changes.ts';
import { getTurn } from './turns.ts';

/**
 * What the bytes of a delivery are for. Finishes count to the article that they have now.
 * @throws Problem `unknown-product`, `unknown-delivery`
 */
export async function weigh(
  context: Context,
  product: string,
  number: string,
): Promise<DeliveryWeight & { readonly delivery: number }> {
  const manifest = await getDelivery(context, product, number);
  const work = { product: manifest.product, signal: getTurn().signal };
  const file = await context.models.weigh(context.files.getPath(manifest.file.sha256), work);
  const articles = new Map(
    (await context.stores.listFinishes()).map(({ finish, article }) => [foldCode(finish), article ?? null]),
  );
  return {
    delivery: manifest.delivery,
    ...weighDelivery(file, manifest, (finish) => articles.get(foldCode(finish)) ?? null),
  };
}
