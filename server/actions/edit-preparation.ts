import { ABSENT, requireExpected } from '../core/precondition.ts';
import type { Repair } from '../core/repair/repair.ts';
import type { Context } from './context.ts';
import { getProduct } from './load-product.ts';
import { tagPreparation } from './tags.ts';

/**
 * Replaces the preparation of a product.
 * @param ifTag see `requireExpected`; a preparation without steps also counts as absent
 * @throws Problem `unknown-product`, `stale-preparation`
 */
export async function putPreparation(
  { stores }: Pick<Context, 'stores'>,
  code: string,
  steps: readonly Repair[],
  ifTag: string | null = null,
): Promise<void> {
  await stores.transaction(async (tx) => {
    const product = await getProduct({ stores: tx }, code);
    const standing = await tx.getPreparation(code);
    const absent = ifTag === ABSENT && standing.length === 0;
    requireExpected('preparation', product.code, absent ? null : tagPreparation(standing), ifTag);
    await tx.putPreparation(code, steps);
  });
}
