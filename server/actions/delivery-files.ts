import type { DeliveryFile, DeliveryManifest } from '../core/delivery/delivery.ts';
import type { Context } from './context.ts';

/** The form with a sample of each finish. */
export const SAMPLES = 'samples.glb';

export interface ListedFile extends Omit<DeliveryFile, 'stored'> {
  /** The URL path on this service. */
  readonly path: string;
}

/**
 * The files of a delivery, its model first. A file of one variant that the service makes on request is not listed: each variant has
 * one.
 */
export async function listDeliveryFiles(
  { stores }: Pick<Context, 'stores'>,
  { product, delivery, file }: Pick<DeliveryManifest, 'product' | 'delivery' | 'file'>,
): Promise<ListedFile[]> {
  const model: DeliveryFile = { form: 'model.glb', stored: true, ...file, details: {} };
  const known = await stores.listDeliveryFiles(product, delivery);
  const samples: DeliveryFile = { ...model, form: SAMPLES, sha256: null, bytes: null };
  // samples are made when someone asks for them, so the list has them before
  const others = known.some(({ form }) => form === SAMPLES) ? known : [...known, samples];
  return [model, ...others.filter(({ form, stored }) => stored || !form.startsWith('variants/'))].map(
    ({ stored: _, details, ...listed }) => ({
      ...listed,
      // a part may have thousands of variants; its file names them
      details: Array.isArray(details.variants) ? { ...details, variants: details.variants.length } : details,
      path: `${deliveryPath(product, delivery)}/${toPath(listed.form)}`,
    }),
  );
}

/** The URL path of a delivery on this service. */
export function deliveryPath(product: string, delivery: number): string {
  return `/api/products/${encodeURIComponent(product)}/deliveries/${delivery}`;
}

export const toPath = (form: string) => form.split('/').map(encodeURIComponent).join('/');
