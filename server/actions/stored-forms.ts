import type { DeliveryFile, DeliveryManifest } from '../core/delivery/delivery.ts';
import type { Context } from './context.ts';

// Forms of a delivery that are real work: made once, whole or not at all, and stored with the delivery.

export interface StoredForm {
  readonly sha256: string;
  readonly bytes: number;
}

/** A form that was made before; null when it was not, or when its file is lost, since it can be made again. */
export async function findStoredForm(
  { stores, files }: Pick<Context, 'stores' | 'files'>,
  { product, delivery }: Pick<DeliveryManifest, 'product' | 'delivery'>,
  form: string,
): Promise<StoredForm | null> {
  const known = await stores.getDeliveryFile(product, delivery, form);
  if (!known?.stored || known.sha256 === null || known.bytes === null) return null;
  return (await files.has(known.sha256)) ? { sha256: known.sha256, bytes: known.bytes } : null;
}

/**
 * Makes a form beside, and stores it when it is whole.
 * @param make writes the file to the path it gets
 * @throws what `make` throws; nothing is stored then
 */
export async function storeForm(
  context: Pick<Context, 'stores' | 'files'>,
  manifest: Pick<DeliveryManifest, 'product' | 'delivery'>,
  { form, mediaType }: Pick<DeliveryFile, 'form' | 'mediaType'>,
  make: (targetPath: string) => Promise<StoredForm & Pick<DeliveryFile, 'details'>>,
): Promise<StoredForm> {
  const { stores, files } = context;
  const targetPath = await files.newTemporary();
  try {
    const { sha256, bytes, details } = await make(targetPath);
    await files.adopt(targetPath, sha256);
    const file: DeliveryFile = { form, stored: true, sha256, bytes, mediaType, details };
    await stores.addDeliveryFiles(manifest.product, manifest.delivery, [file]);
    // another call may have stored one in the meantime, which stays
    return (await findStoredForm(context, manifest, form)) ?? { sha256, bytes };
  } catch (error) {
    await files.discard(targetPath);
    throw error;
  }
}
