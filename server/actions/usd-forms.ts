import { foldCode } from '../core/codes.ts';
import type { DeliveryFile, DeliveryManifest } from '../core/delivery/delivery.ts';
import { USDZ, type UsdContent, type UsdWritten } from '../core/delivery/usd-form.ts';
import { USD_LOSS_TEXTS } from '../core/texts/usd-losses.ts';
import { shareInFlight } from './caching.ts';
import type { Context } from './context.ts';
import { findVariants } from './delivery-forms.ts';
import { getProduct } from './load-product.ts';
import { getTurn } from './turns.ts';

/** The form of all variants, with a variant set for each slot. */
export const USD_PRODUCT = 'product.usdz';

interface Found {
  readonly sha256: string;
  readonly bytes: number;
}

/**
 * One variant as USDZ. It is made from the delivered file when it is first asked for, and stored.
 * @throws Problem `unknown-variant`, `usd-too-large`, `usd-nothing-to-show`
 */
export async function findVariantUsd(context: Context, manifest: DeliveryManifest, code: string): Promise<Found> {
  const [variant] = findVariants(manifest, [code]);
  const { code: own, name } = manifest.variants[variant!]!;
  const content: UsdContent = { kind: 'variant', variant: variant! };
  return findUsd(context, manifest, `variants/${own}.usdz`, content, `${manifest.productName}, ${name}`);
}

/** All variants in one USDZ, with a variant set for each slot and one for the rows of the schedule. Made and stored as above. */
export async function findProductUsd(context: Context, manifest: DeliveryManifest): Promise<Found> {
  const { variants, slots, default: first, productName } = manifest;
  const content: UsdContent = {
    kind: 'product',
    slots: slots.filter(({ fixed }) => !fixed).map(({ slot }) => slot),
    rows: variants.map(({ code, choices }) => ({ code, choices })),
    first: Math.max(
      0,
      variants.findIndex(({ code }) => foldCode(code) === foldCode(first)),
    ),
  };
  return findUsd(context, manifest, USD_PRODUCT, content, productName);
}

/** Makes what a bundle asks for: `usd`, or `usdz` of each variant, one after the other; what is made stays when the caller leaves. */
export async function makeUsdForms(
  context: Context,
  manifest: DeliveryManifest,
  forms: readonly string[],
): Promise<void> {
  if (forms.includes('usd')) await findProductUsd(context, manifest);
  if (!forms.includes('usdz')) return;
  for (const { code } of manifest.variants) {
    getTurn().signal?.throwIfAborted();
    await findVariantUsd(context, manifest, code);
  }
}

async function findUsd(
  context: Context,
  manifest: DeliveryManifest,
  form: string,
  content: UsdContent,
  title: string,
): Promise<Found> {
  const { product, delivery } = manifest;
  const find = async () => {
    const known = await context.stores.getDeliveryFile(product, delivery, form);
    if (!known?.stored || known.sha256 === null || known.bytes === null) return null;
    // the same bytes are made again when the file is lost
    return (await context.files.has(known.sha256)) ? { sha256: known.sha256, bytes: known.bytes } : null;
  };
  const known = await find();
  if (known) return known;
  return shareInFlight(`usd ${foldCode(product)} ${delivery} ${manifest.file.sha256} ${form}`, async () => {
    const { mount } = await getProduct(context, product);
    const targetPath = await context.files.newTemporary();
    try {
      const path = context.files.getPath(manifest.file.sha256);
      const work = { product, signal: getTurn().signal };
      const made = await context.models.writeUsd({ path, targetPath, content, title, mount }, work);
      const { sha256, bytes } = made;
      await context.files.adopt(targetPath, sha256);
      const details = { mount, ...describe(made) };
      const file: DeliveryFile = { form, stored: true, sha256, bytes, mediaType: USDZ, details };
      await context.stores.addDeliveryFiles(product, delivery, [file]);
      return (await find()) ?? { sha256, bytes };
    } catch (error) {
      await context.files.discard(targetPath);
      throw error;
    }
  });
}

/** What the list of files says of it. The file itself has the codes behind the names of rows, which may be thousands. */
function describe({ losses, box, triangles, textures, sets }: UsdWritten): DeliveryFile['details'] {
  return {
    losses: losses.map(({ code, materials }) => ({ code, message: USD_LOSS_TEXTS[code], materials })),
    boxM: box,
    triangles,
    textures,
    ...(sets.length > 0 && {
      sets: sets.map(({ set, slot, variants }) => (slot === null ? { set } : { set, slot, variants })),
    }),
  };
}
