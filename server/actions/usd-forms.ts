import { foldCode } from '../core/codes.ts';
import type { DeliveryFile, DeliveryManifest } from '../core/delivery/delivery.ts';
import { USDZ, type UsdContent, type UsdWritten } from '../core/delivery/usd-form.ts';
import { USD_LOSS_TEXTS } from '../core/texts/usd-losses.ts';
import { shareInFlight } from './caching.ts';
import type { Context } from './context.ts';
import { findVariants } from './delivery-forms.ts';
import { getProduct } from './load-product.ts';
import { findStoredForm, type StoredForm, storeForm } from './stored-forms.ts';
import { getTurn } from './turns.ts';

/** The form of all variants, with a variant set for each slot. */
export const USD_PRODUCT = 'product.usdz';

/**
 * One variant as USDZ. It is made from the delivered file when it is first asked for, and stored.
 * @throws Problem `unknown-variant`, `usd-too-large`, `usd-nothing-to-show`
 */
export async function findVariantUsd(context: Context, manifest: DeliveryManifest, code: string): Promise<StoredForm> {
  const [variant] = findVariants(manifest, [code]);
  const { code: own, name } = manifest.variants[variant!]!;
  const content: UsdContent = { kind: 'variant', variant: variant! };
  return findUsd(context, manifest, `variants/${own}.usdz`, content, `${manifest.productName}, ${name}`);
}

/** All variants in one USDZ, with a variant set for each slot and one for the rows of the schedule. Made and stored as above. */
export async function findProductUsd(context: Context, manifest: DeliveryManifest): Promise<StoredForm> {
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
): Promise<StoredForm> {
  const known = await findStoredForm(context, manifest, form);
  if (known) return known;
  const { product, delivery, file } = manifest;
  return shareInFlight(`usd ${foldCode(product)} ${delivery} ${file.sha256} ${form}`, () =>
    storeForm(context, manifest, { form, mediaType: USDZ }, async (targetPath) => {
      const { mount } = await getProduct(context, product);
      const path = context.files.getPath(file.sha256);
      const work = { product, signal: getTurn().signal };
      const made = await context.models.writeUsd({ path, targetPath, content, title, mount }, work);
      return { sha256: made.sha256, bytes: made.bytes, details: { mount, ...describe(made) } };
    }),
  );
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
