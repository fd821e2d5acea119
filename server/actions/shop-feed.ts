import type { DeliveryManifest } from '../core/delivery/delivery.ts';
import { type Feed, type FeedFile, listColumns, makeFeed, toRow } from '../core/delivery/shop-feed.ts';
import { describeGroup, describeVariant } from '../core/delivery/shop-json-ld.ts';
import type { Context } from './context.ts';
import { getDelivery } from './delivery-changes.ts';
import { deliveryPath, toPath } from './delivery-files.ts';
import { giveTurn } from './in-turns.ts';
import { writeCsv } from './zip-files.ts';

/** Variants that are written in one go. */
const AT_ONCE = 100;
/** Edge of the pictures that a feed names. */
const PICTURE_PX = 1024;

export const FEED_FORMATS = ['csv', 'json', 'jsonld'] as const;
export type FeedFormat = (typeof FEED_FORMATS)[number];

/**
 * Writes the shop data of a delivery bit by bit, with turns for other calls.
 * @param base what stands before each path of this service in an absolute address, such as `https://finishes.example`
 * @throws Problem `unknown-product`, `unknown-delivery`, `no-delivery` at once
 */
export async function openFeed(
  context: Pick<Context, 'stores'>,
  product: string,
  delivery: string,
  { format, base, bom }: { readonly format: FeedFormat; readonly base: string; readonly bom: boolean },
): Promise<{ readonly manifest: DeliveryManifest; readonly text: AsyncGenerator<string> }> {
  const manifest = await getDelivery(context, product, delivery);
  const url = base + deliveryPath(manifest.product, manifest.delivery);
  const listFiles = await findFiles(context, manifest, base);
  const pictures = `${base}/api/products/${encodeURIComponent(manifest.product)}/pictures/`;
  const feed = makeFeed(manifest, {
    delivery: url,
    listPictures: (variant) => [`${pictures}${encodeURIComponent(variant)}.jpg?size=${PICTURE_PX}&ground=white`],
    listFiles,
  });
  const text =
    format === 'csv'
      ? writeTable(feed, manifest, bom)
      : format === 'json'
        ? writeList('variants', describeFeed(manifest, feed, url), feed, feed.describe)
        : writeList('hasVariant', describeGroup(manifest, feed, url), feed, (variant) =>
            describeVariant(feed.describe(variant), url),
          );
  return { manifest, text };
}

function describeFeed(
  { product, productName, delivery, createdAt, note, caution }: DeliveryManifest,
  { slots, languages }: Feed,
  url: string,
) {
  const about = { product, productName, delivery, createdAt, ...(note !== undefined && { note }) };
  return { format: 'dyeworks-feed/1', ...about, url, slots, languages, caution };
}

/** The files of a variant: its own, and the one with all. A withdrawn delivery has none. */
async function findFiles({ stores }: Pick<Context, 'stores'>, manifest: DeliveryManifest, base: string) {
  const all = await stores.listDeliveries(manifest.product);
  const standing = new Set(all.filter(({ withdrawn }) => !withdrawn).map(({ delivery }) => delivery));
  const made = new Map<number, ReadonlySet<string>>();
  const earlier = new Set((manifest.shop?.discontinued ?? []).map(({ delivery }) => delivery));
  for (const delivery of [manifest.delivery, ...earlier]) {
    if (made.has(delivery) || !standing.has(delivery)) continue;
    const files = await stores.listDeliveryFiles(manifest.product, delivery);
    made.set(delivery, new Set(files.filter(({ stored }) => stored).map(({ form }) => form)));
  }
  return (variant: string, delivery: number): readonly FeedFile[] => {
    const stored = made.get(delivery);
    if (!stored) return [];
    const place = base + deliveryPath(manifest.product, delivery);
    const file = (form: string, mediaType: string) => ({ form, url: `${place}/${toPath(form)}`, mediaType });
    const usdz = `variants/${variant}.usdz`;
    return [
      file(`variants/${variant}.glb`, 'model/gltf-binary'),
      ...(stored.has(usdz) ? [file(usdz, 'model/vnd.usdz+zip')] : []),
      file('model.glb', 'model/gltf-binary'),
    ];
  };
}

async function* writeTable(feed: Feed, manifest: DeliveryManifest, bom: boolean): AsyncGenerator<string> {
  yield (bom ? '\uFEFF' : '') + writeCsv(listColumns(feed), []);
  for (let from = 0; from < feed.variants.length; from += AT_ONCE) {
    await giveTurn();
    const [first, ...rows] = feed.variants
      .slice(from, from + AT_ONCE)
      .map((variant) => toRow(feed.describe(variant), feed, manifest));
    yield writeCsv([], [first!, ...rows]).slice(2);
  }
}

async function* writeList(
  name: string,
  about: object,
  feed: Feed,
  describe: (variant: Feed['variants'][number]) => unknown,
): AsyncGenerator<string> {
  yield `${JSON.stringify(about).slice(0, -1)},${JSON.stringify(name)}:[`;
  for (let from = 0; from < feed.variants.length; from += AT_ONCE) {
    await giveTurn();
    const part = feed.variants.slice(from, from + AT_ONCE).map((variant) => JSON.stringify(describe(variant)));
    yield (from > 0 ? ',' : '') + part.join(',');
  }
  yield ']}';
}
