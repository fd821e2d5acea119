import { foldCode } from '../core/codes.ts';
import { makeWordTest } from '../core/find-words.ts';
import type { Page, ProductSummary, SummarisedProduct } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import type { Product } from '../core/product/product.ts';
import { shareInFlight } from './caching.ts';
import { checkProduct } from './check-product.ts';
import type { Context } from './context.ts';
import { compareWithNow, getLastDelivery } from './delivery-changes.ts';
import { giveTurn } from './in-turns.ts';
import { isMeasuredLater, loadProduct } from './load-product.ts';
import type { LoadedProduct } from './loaded-product.ts';

interface ListedProduct {
  readonly product: Product;
  readonly summary: ProductSummary;
}

/** Which products to list. All given conditions must hold. */
export interface ProductQuery {
  /** Words, each of which is part of the code or the name. */
  readonly text?: string;
  /** Empty for products without a line. */
  readonly line?: string;
  /** Only products that are not ready to deliver. */
  readonly attention?: boolean;
  /** Only products whose last delivery is out of date. */
  readonly outdated?: boolean;
}

/** A search reads so many products at a time, so that other calls have turns in between. */
const READ_AT_ONCE = 200;

/**
 * A page of the products with their summaries. Reading them is one query, or one for each 200 products of a search: only
 * products that changed since the last list are checked, one after the other, with turns of the event loop in between.
 */
export async function listProducts(
  context: Context,
  { limit, after }: Page,
  wanted: ProductQuery = {},
): Promise<{ readonly listed: readonly ListedProduct[]; readonly next: number | null }> {
  const isNamed = makeProductTest(wanted);
  const listed: ListedProduct[] = [];
  const isSearch = Object.values(wanted).some(Boolean) || wanted.line !== undefined;
  for (let place = after; ; ) {
    // one more than asked for tells whether there are more
    const most = isSearch ? READ_AT_ONCE : limit + 1;
    const rows = await context.stores.listSummaries({ limit: most, after: place }, context.build);
    for (const row of rows) {
      if (isNamed(row.product)) {
        const made = row.summary ? { product: row.product, summary: row.summary } : await renew(context, row);
        if (made && isWanted(made.summary, wanted)) {
          if (listed.length === limit) return { listed, next: place };
          listed.push(made);
        }
      }
      place = row.place;
    }
    if (rows.length < most) return { listed, next: null };
    if (isSearch) await giveTurn();
  }
}

function makeProductTest({ text = '', line }: ProductQuery): (product: Product) => boolean {
  const hasWords = makeWordTest(text);
  return (product) =>
    (line === undefined || foldCode(product.line ?? '') === foldCode(line)) && hasWords([product.code, product.name]);
}

function isWanted({ verdict, outdated }: ProductSummary, wanted: ProductQuery): boolean {
  return (!wanted.attention || verdict !== 'ready') && (!wanted.outdated || outdated);
}

/** Checks a product again, and stores the result. Null if the product was deleted in the meantime. */
function renew(context: Context, { product, stamp }: SummarisedProduct): Promise<ListedProduct | null> {
  return shareInFlight(`summary ${product.code} ${stamp}`, async () => {
    await giveTurn();
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
  const last = await getLastDelivery(context, loaded);
  return {
    size: model?.survey.size ?? null,
    model: model && { revision: model.revision, sha256: model.sha256, bytes: model.bytes },
    verdict: (await checkProduct(context, loaded)).verdict,
    variants: schedule?.schedule.variants.length ?? 0,
    defaultVariant: schedule?.schedule.default ?? null,
    deliveries: deliveries.length,
    outdated: last !== null && (await compareWithNow(context, loaded, last)).changes.length > 0,
    isShown: model !== null && model.survey.counts.triangles > 0,
  };
}
