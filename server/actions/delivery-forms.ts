import { foldCode } from '../core/codes.ts';
import type { DeliveryFile, DeliveryManifest } from '../core/delivery/delivery.ts';
import { type SplitBy, splitDelivery } from '../core/delivery/split-delivery.ts';
import type { PartedFile } from '../core/ports/models.ts';
import { Problem } from '../core/problems.ts';
import { ignoreStorageFault } from '../core/storage-faults.ts';
import { DELIVERY_PROBLEMS } from '../core/texts/problems/delivery.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';

const GLB = 'model/gltf-binary';

type Extracting = Pick<Context, 'stores' | 'files' | 'models'>;

/** A file that comes from the delivered one, with its digest; the bytes are planned when they are needed. */
export interface DerivedFile {
  readonly sha256: string;
  readonly bytes: number;
  readonly open: () => Promise<PartedFile>;
}

interface Selection {
  readonly variants: readonly number[];
  readonly first: number;
  readonly withExtension: boolean;
}

/**
 * The file of one variant, without `KHR_materials_variants`. Its digest is remembered from the first time on.
 * @throws Problem `unknown-variant`
 */
export async function findVariantFile(
  context: Extracting,
  manifest: DeliveryManifest,
  code: string,
): Promise<DerivedFile> {
  const [index] = findVariants(manifest, [code]);
  const form = toForm(manifest, index!);
  const file = await remember(context, manifest, form, selectOne(index!), {});
  if (file.isNew) await readAhead(context, manifest, index!);
  return file;
}

const toForm = ({ variants }: DeliveryManifest, index: number) => `variants/${variants[index]!.code}.glb`;

export function selectOne(index: number): Selection {
  return { variants: [index], first: index, withExtension: false };
}

/**
 * A file with some of the variants, in the order of the delivered one. A viewer shows the default of the delivery first, or the first
 * variant when the default is not among them.
 * @throws Problem `unknown-variant`, `no-variants-asked`
 */
export async function findSubset(
  context: Extracting,
  manifest: DeliveryManifest,
  codes: readonly string[],
): Promise<DerivedFile> {
  if (codes.length === 0) {
    throw new Problem('no-variants-asked', { detail: DELIVERY_PROBLEMS['no-variants-asked'] });
  }
  const selection = select(manifest, codes);
  const plan = await context.models.extract(
    { path: pathOf(context, manifest), ...selection, digest: 'sha256' },
    workOf(manifest),
  );
  return { sha256: plan.digest, bytes: plan.bytes, open: async () => plan };
}

/** @throws Problem `unknown-form` */
export async function findPart(context: Extracting, manifest: DeliveryManifest, key: string): Promise<DerivedFile> {
  const form = `parts/${key}.glb`;
  const part = await context.stores.getDeliveryFile(manifest.product, manifest.delivery, form);
  if (!part) throw unknownForm(manifest, form);
  return remember(context, manifest, form, selectPart(manifest, part), part.details);
}

export function selectPart(manifest: DeliveryManifest, { details }: DeliveryFile): Selection {
  return select(manifest, details.variants as readonly string[]);
}

export function unknownForm({ product, delivery }: DeliveryManifest, form: string): Problem {
  return new Problem('unknown-form', {
    detail: DELIVERY_PROBLEMS['unknown-form'](product, delivery, form.slice(0, 80)),
    received: form.slice(0, 80),
  });
}

/**
 * Splits a delivery, once for each kind of split: the parts of the first call stay, since their addresses are in use.
 * @throws Problem `nothing-to-split`, `unknown-slot-key`, `too-many-parts`
 */
export async function splitByGroup(
  context: Context,
  manifest: DeliveryManifest,
  { splitBy, slot }: { readonly splitBy: SplitBy; readonly slot?: string },
): Promise<void> {
  const { product, delivery, variants } = manifest;
  const known = await context.stores.listDeliveryFiles(product, delivery);
  if (known.some(({ details }) => details.splitBy === splitBy && (details.slot ?? undefined) === slot)) return;
  const { line, finishes } = await loadProduct(context, product);
  const grades = new Map((line?.range ?? []).map(({ finish, grade }) => [foldCode(finish), grade ?? null]));
  const groupOf = (finish: string) =>
    splitBy === 'grade'
      ? (grades.get(foldCode(finish)) ?? null)
      : (finishes.byCode.get(foldCode(finish))?.article ?? null);
  const parts = splitDelivery(variants, { by: splitBy, slot }, groupOf);
  const files = parts.map(({ key, groups, variants: codes }): DeliveryFile => {
    const details = { splitBy, ...(slot !== undefined && { slot }), groups, variants: codes };
    return { form: `parts/${key}.glb`, stored: false, sha256: null, bytes: null, mediaType: GLB, details };
  });
  await context.stores.addDeliveryFiles(product, delivery, files);
}

/** Finds variants of a delivery by code. @throws Problem `unknown-variant` */
export function findVariants({ product, delivery, variants }: DeliveryManifest, codes: readonly string[]): number[] {
  const indices = new Map(variants.map(({ code }, index) => [foldCode(code), index]));
  return codes.map((code) => {
    const index = indices.get(foldCode(code));
    if (index !== undefined) return index;
    throw new Problem('unknown-variant', {
      detail: DELIVERY_PROBLEMS['unknown-variant'](product, delivery, code.slice(0, 80)),
      received: code.slice(0, 80),
    });
  });
}

function select(manifest: DeliveryManifest, codes: readonly string[]): Selection {
  const variants = [...new Set(findVariants(manifest, codes))].sort((a, b) => a - b);
  const standard = manifest.variants.findIndex(({ code }) => foldCode(code) === foldCode(manifest.default));
  return { variants, first: variants.includes(standard) ? standard : variants[0]!, withExtension: true };
}

const pathOf = ({ files }: Pick<Context, 'files'>, { file }: DeliveryManifest) => files.getPath(file.sha256);
/** Downloads of one product take turns with those of others. */
const workOf = ({ product }: DeliveryManifest) => ({ product });

async function remember(
  context: Extracting,
  manifest: DeliveryManifest,
  form: string,
  selection: Selection,
  details: DeliveryFile['details'],
): Promise<DerivedFile & { readonly isNew: boolean }> {
  const { product, delivery } = manifest;
  const request = { path: pathOf(context, manifest), ...selection };
  const open = () => context.models.extract({ ...request, digest: null }, workOf(manifest));
  const known = await context.stores.getDeliveryFile(product, delivery, form);
  if (known?.sha256 && known.bytes !== null) return { sha256: known.sha256, bytes: known.bytes, open, isNew: false };
  const { digest: sha256, bytes } = await context.models.extract({ ...request, digest: 'sha256' }, workOf(manifest));
  await context.stores
    .addDeliveryFiles(product, delivery, [{ form, stored: false, sha256, bytes, mediaType: GLB, details }])
    // a full disk costs the memory of the digest, not the download
    .catch(ignoreStorageFault);
  return { sha256, bytes, open, isNew: true };
}

/** Variants that are digested ahead for a caller who takes one after the other. */
const AHEAD = 2;

/** Digesting takes longer than sending. Whoever took the variant before this one takes the next ones, too. */
async function readAhead(context: Extracting, manifest: DeliveryManifest, index: number): Promise<void> {
  const { product, delivery, variants } = manifest;
  if (index === 0) return;
  const before = await context.stores.getDeliveryFile(product, delivery, toForm(manifest, index - 1));
  if (!before) return;
  for (let next = index + 1; next <= index + AHEAD && next < variants.length; next++) {
    context.models
      .extract({ path: pathOf(context, manifest), ...selectOne(next), digest: 'sha256' }, workOf(manifest))
      .catch(() => undefined);
  }
}
