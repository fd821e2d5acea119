import { foldCode } from '../core/codes.ts';
import type { DeliveryManifest, ShopRecord } from '../core/delivery/delivery.ts';
import { assignSkus, fillSkus, type SkuPlan } from '../core/delivery/sku.ts';
import type { Finding } from '../core/product/finding.ts';
import { keyOf } from '../core/schedule/name-rows.ts';
import { SLICE, type Sliced } from '../core/slices.ts';
import type { Context } from './context.ts';
import { inTurns } from './in-turns.ts';
import type { LoadedProduct } from './loaded-product.ts';

type Loaded = Pick<LoadedProduct, 'product' | 'slots' | 'schedule'>;
type Variants = DeliveryManifest['variants'];

/** The SKUs of the next delivery, and what keeps it from having them. Without a schedule there are none. */
export async function planSkus({ stores }: Pick<Context, 'stores'>, loaded: Loaded): Promise<SkuPlan> {
  const { product, schedule } = loaded;
  const given = {
    template: product.skuTemplate ?? null,
    product: product.code,
    slots: listChanging(loaded).map(({ slot }) => slot),
    variants: schedule?.schedule.variants ?? [],
  };
  const sent = await stores.listSentSkus(product.code, await inTurns(fillSkus(given)));
  return inTurns(assignSkus({ ...given, sent }));
}

/** Findings that block the next delivery for its SKUs. */
export async function listSkuFindings(context: Pick<Context, 'stores'>, loaded: Loaded): Promise<readonly Finding[]> {
  return (await planSkus(context, loaded)).faults;
}

const listChanging = ({ slots }: Pick<Loaded, 'slots'>) => slots.filter(({ fixed }) => !fixed);

/** The variants with their SKUs. */
export function* addSkus(variants: Variants, { skus }: SkuPlan): Sliced<Variants> {
  const listed: Variants[number][] = [];
  for (const variant of variants) {
    if (listed.length > 0 && listed.length % SLICE === 0) yield;
    const sku = skus.get(foldCode(variant.code))?.sku;
    listed.push(sku === undefined ? variant : { ...variant, sku });
  }
  return listed;
}

/**
 * What shops need besides. A variant of an earlier delivery stays listed: shops have it, and must learn that it is discontinued.
 * @param last the last delivery, withdrawn or not: its list reached shops
 */
export function* recordShopData(
  loaded: Loaded,
  variants: Variants,
  used: DeliveryManifest['finishes'],
  last: DeliveryManifest | null,
): Sliced<ShopRecord> {
  const now = new Set<string>();
  for (const [at, { choices }] of variants.entries()) {
    if (at % SLICE === SLICE - 1) yield;
    now.add(keyOf(choices));
  }
  const discontinued: ShopRecord['discontinued'][number][] = [];
  const before = last
    ? [...last.variants.map((each) => ({ ...each, delivery: last.delivery })), ...(last.shop?.discontinued ?? [])]
    : [];
  for (const [at, variant] of before.entries()) {
    if (at % SLICE === SLICE - 1) yield;
    if (!now.has(keyOf(variant.choices))) discontinued.push(variant);
  }
  const needed = new Set(discontinued.flatMap(({ choices }) => Object.values(choices).map(foldCode)));
  for (const { finish } of used) needed.delete(foldCode(finish));
  const known = last ? [...last.finishes, ...(last.shop?.finishes ?? [])] : [];
  const finishes = known.filter(({ finish }) => needed.delete(foldCode(finish)));
  const nameTemplate = loaded.schedule?.schedule.template?.name;
  return {
    slots: listChanging(loaded).map(({ slot, label }) => ({ slot, label })),
    ...(nameTemplate !== undefined && { nameTemplate }),
    discontinued,
    finishes,
  };
}
