import type { Page, ProductSummary, SummarisedProduct } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import type { Product } from '../core/product/product.ts';
import { shareInFlight } from './caching.ts';
import { checkProduct } from './check-product.ts';
import type { Context } from './context.ts';
import { isMeasuredLater, loadProduct } from './load-product.ts';
import type { LoadedProduct } from './loaded-product.ts';

interface ListedProduct {
  readonly product: Product;
  readonly summary: ProductSummary;
}

/**
 * A page of the products with their summaries. Reading them is one query: only products that changed since the last list are
 * checked, one after the other, with turns of the event loop in between.
 */
export async function listProducts(
  context: Context,
  { limit, after }: Page,
): Promise<{ readonly listed: readonly ListedProduct[]; readonly next: number | null }> {
  // one more than asked for tells whether there are more
  const rows = await context.stores.listSummaries({ limit: limit + 1, after }, context.build);
  const listed: ListedProduct[] = [];
  for (const row of rows.slice(0, limit)) {
    const made = row.summary ? row : await renew(context, row);
    if (made) listed.push({ product: made.product, summary: made.summary! });
  }
  return { listed, next: rows.length > limit ? rows[limit - 1]!.place : null };
}

/** Checks a product again, and stores the result. Null if the product was deleted in the meantime. */
function renew(context: Context, { product, stamp }: SummarisedProduct): Promise<ListedProduct | null> {
  return shareInFlight(`summary ${product.code} ${stamp}`, async () => {
    await new Promise<void>((resolve) => setImmediate(resolve));
    try {
      const loaded = await loadProduct(context, product.code);
      const summary = await summarise(context, loaded);
      // a product that could not be measured now is checked again with the next list
      if (!isMeasuredLater(loaded)) await context.stores.putSummary(product.code, stamp, summary);
      return { product: loaded.product, summary };
    } catch (error) {
      if (error instanceof Problem && error.code === 'unknown-product') return null;
      throw error;
    }
  });
}

/** What lists say of a product besides its own fields. */
export async function summarise(context: Context, loaded: LoadedProduct): Promise<ProductSummary> {
  const { product, model, schedule } = loaded;
  const deliveries = await context.stores.listDeliveries(product.code);
  return {
    size: model?.survey.size ?? null,
    model: model && { revision: model.revision, sha256: model.sha256, bytes: model.bytes },
    verdict: (await checkProduct(context, loaded)).verdict,
    variants: schedule?.schedule.variants.length ?? 0,
    defaultVariant: schedule?.schedule.default ?? null,
    deliveries: deliveries.length,
    isShown: model !== null && model.survey.counts.triangles > 0,
  };
}
