import { cleanText } from '../core/codes.ts';
import type { DeliveryManifest } from '../core/delivery/delivery.ts';
import { Problem } from '../core/problems.ts';
import { DELIVERY_PROBLEMS } from '../core/texts/problems/delivery.ts';
import type { Context } from './context.ts';
import { findDelivery, getDelivery, missingDelivery } from './delivery-changes.ts';
import { getProduct } from './load-product.ts';

/**
 * Withdraws a delivery for good: its record stays, its files are not sent any more, and the one before it becomes current. The
 * first withdrawal counts.
 * @throws Problem `unknown-product`, `unknown-delivery`, `no-delivery`, `withdrawal-needs-reason`, `already-withdrawn`
 */
export async function withdrawDelivery(
  context: Context,
  product: string,
  delivery: string,
  { reason, person }: { readonly reason: string; readonly person: string | null },
): Promise<DeliveryManifest> {
  const why = cleanText(reason);
  if (why === '') {
    throw new Problem('withdrawal-needs-reason', {
      detail: DELIVERY_PROBLEMS['withdrawal-needs-reason'],
      where: '/reason',
    });
  }
  const at = context.now().toISOString();
  return context.stores.transaction(async (tx) => {
    const { code } = await getProduct({ stores: tx }, product);
    const known = await findDelivery({ stores: tx }, code, delivery);
    if (!known) throw missingDelivery(code, delivery);
    await tx.withdrawDelivery(code, known.delivery, ({ withdrawn }) => {
      if (!withdrawn) return { at, reason: why, person };
      throw new Problem('already-withdrawn', {
        detail: DELIVERY_PROBLEMS['already-withdrawn'](known.delivery, withdrawn),
        received: why,
      });
    });
    return getDelivery({ stores: tx }, code, String(known.delivery));
  });
}

/**
 * Refuses the files of a withdrawn delivery.
 * @throws Problem `delivery-withdrawn`
 */
export async function requireNotWithdrawn(
  context: Pick<Context, 'stores'>,
  product: string,
  delivery: string,
): Promise<void> {
  const known = await findDelivery(context, product, delivery);
  if (!known?.withdrawn) return;
  const { at, reason } = known.withdrawn;
  throw new Problem('delivery-withdrawn', {
    detail: DELIVERY_PROBLEMS['delivery-withdrawn'](known.delivery, reason),
    received: { delivery: known.delivery, at, reason },
  });
}
