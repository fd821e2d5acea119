import { readCompressedForm } from '../core/delivery/compressed-form.ts';
import type { DeliveryManifest } from '../core/delivery/delivery.ts';
import type { Job } from '../core/job/job.ts';
import type { Context } from './context.ts';
import { getDelivery } from './delivery-changes.ts';
import { unknownForm } from './delivery-forms.ts';
import { findStoredForm, type StoredForm, storeForm } from './stored-forms.ts';

/** The task of a job that makes forms of a delivery. */
interface FormsJobRequest {
  readonly delivery: number;
  readonly forms: readonly string[];
}

const toFile = (form: string) => `forms/${form}.glb`;

/**
 * Adds a job that makes the compressed forms that a delivery does not have yet.
 * @param forms names of forms, such as `meshopt-webp`
 * @returns null if it has them all
 * @throws Problem `queue-full`
 */
export async function addFormsJob(
  context: Context,
  { product, delivery }: DeliveryManifest,
  forms: readonly string[],
  id: string,
): Promise<Job | null> {
  const known = new Set((await context.stores.listDeliveryFiles(product, delivery)).map(({ form }) => form));
  const missing = [...new Set(forms)].filter((form) => !known.has(toFile(form)));
  if (missing.length === 0) return null;
  const request: FormsJobRequest = { delivery, forms: missing };
  return context.jobs.add({ id, kind: 'delivery-forms', product, total: missing.length, request });
}

/**
 * Makes one form of a job, from the delivered file as it is stored. It is written beside, and becomes a file of the delivery when
 * it is whole.
 * @returns `found` if another job has made it in the meantime
 * @throws Problem `unknown-delivery`, `work-cancelled`, and as `Models.compress`
 */
export async function makeForm(
  context: Context,
  job: Job,
  part: number,
  signal: AbortSignal,
): Promise<'found' | undefined> {
  const { delivery, forms } = job.request as FormsJobRequest;
  const manifest = await getDelivery(context, job.product!, String(delivery));
  return makeCompressed(context, manifest, forms[part]!, signal);
}

/**
 * Makes a compressed form, if it is missing.
 * @param name such as `meshopt-webp`
 * @throws Problem `unknown-form`, `work-cancelled`, and as `Models.compress`
 */
export async function makeCompressed(
  context: Context,
  manifest: DeliveryManifest,
  name: string,
  signal: AbortSignal,
): Promise<'found' | undefined> {
  const form = readCompressedForm(name);
  if (!form) throw unknownForm(manifest, toFile(name));
  if (await findStoredForm(context, manifest, toFile(name))) return 'found';
  const { product, file } = manifest;
  await storeForm(context, manifest, { form: toFile(name), mediaType: 'model/gltf-binary' }, async (targetPath) => {
    const request = { sourcePath: context.files.getPath(file.sha256), targetPath, form };
    const { loss, ...made } = await context.models.compress(request, { product, signal });
    return { ...made, details: { loss } };
  });
  return undefined;
}

/** A compressed form that has been made. @throws Problem `unknown-form` */
export async function findCompressed(
  { stores }: Pick<Context, 'stores'>,
  manifest: DeliveryManifest,
  name: string,
): Promise<StoredForm> {
  const found = await stores.getDeliveryFile(manifest.product, manifest.delivery, toFile(name));
  if (found?.sha256 && found.bytes !== null) return { sha256: found.sha256, bytes: found.bytes };
  throw unknownForm(manifest, toFile(name));
}
