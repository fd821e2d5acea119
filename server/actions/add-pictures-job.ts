import { foldCode } from '../core/codes.ts';
import type { CheckSetKind } from '../core/combinations/plan-check-set.ts';
import {
  countPictures,
  PICTURES_DEFAULT,
  type PicturedProduct,
  type PicturedRow,
  type PicturesRequest,
} from '../core/job/pictures-job.ts';
import type { Job } from '../core/ports/jobs.ts';
import { Problem } from '../core/problems.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import { planCheckRows } from './add-check-set.ts';
import type { Context } from './context.ts';
import { getLine } from './get-line.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, requireModel, requireSchedule, unknownVariant } from './loaded-product.ts';

/** How pictures are to be; what is left out is as in `PICTURES_DEFAULT`. */
export type GivenPictures = Partial<Omit<PicturesRequest, 'of' | 'leftOut'>>;

/** Which rows of a product: some variants, or a check set; all of the schedule where neither is named. */
export interface GivenRows {
  readonly variants?: readonly string[];
  readonly checkSet?: CheckSetKind;
}

/** Pictures of one job, some days of a small machine; a line with more is made in several. */
const PICTURE_LIMIT = 100_000;

/**
 * Adds a job that makes a product's pictures.
 * @throws Problem `no-model`, `no-schedule`, `unknown-variant`, `invalid-field`, `nothing-to-expand`, `too-many-variants`,
 *   `queue-full`
 */
export async function addProductPictures(
  context: Context,
  code: string,
  id: string,
  { variants, checkSet, ...given }: GivenRows & GivenPictures,
): Promise<Job> {
  const loaded = await loadProduct(context, code);
  requireModel(loaded);
  const product = loaded.product.code;
  if (variants && checkSet) {
    throw new Problem('invalid-field', {
      detail: PRODUCT_PROBLEMS['invalid-field'].variantsOrCheckSet,
      where: '/checkSet',
    });
  }
  const pictured: PicturedProduct = checkSet
    ? { product, rows: planRows(loaded, checkSet) }
    : { product, variants: pickVariants(loaded, variants) };
  return add(context, { id, product }, { ...PICTURES_DEFAULT, ...given, of: [pictured] });
}

/**
 * Adds a job that makes the pictures of all products of a line that have a model and a schedule; the others are named in
 * the request as left out.
 * @throws Problem `unknown-line-code`, `nothing-to-picture`, `too-many-variants`, `queue-full`
 */
export async function addLinePictures(context: Context, code: string, id: string, given: GivenPictures): Promise<Job> {
  const [{ line }, products] = await Promise.all([getLine(context, code), context.stores.listProducts()]);
  const members = products.filter((product) => product.line !== null && foldCode(product.line) === foldCode(line));
  const of: PicturedProduct[] = [];
  const leftOut: { product: string; reason: string }[] = [];
  for (const { code: product } of members) {
    const [model, schedule] = await Promise.all([
      context.stores.getModel(product),
      context.stores.getSchedule(product),
    ]);
    if (model && schedule) of.push({ product, variants: schedule.schedule.variants.map((variant) => variant.code) });
    else leftOut.push({ product, reason: model ? 'It has no schedule yet.' : 'It has no model yet.' });
  }
  if (of.length === 0) {
    throw new Problem('nothing-to-picture', {
      detail:
        members.length === 0
          ? PICTURE_PROBLEMS['nothing-to-picture'].noProducts(line)
          : PICTURE_PROBLEMS['nothing-to-picture'].incomplete(line),
      findings: leftOut,
    });
  }
  return add(context, { id, product: null, line }, { ...PICTURES_DEFAULT, ...given, of, leftOut });
}

function pickVariants(loaded: LoadedProduct, wanted: readonly string[] | undefined): readonly string[] {
  const known = new Map(requireSchedule(loaded).variants.map(({ code }) => [foldCode(code), code]));
  if (!wanted) return [...known.values()];
  const found = wanted.map((variant) => {
    const code = known.get(foldCode(variant));
    if (code !== undefined) return code;
    throw unknownVariant(loaded.product, variant);
  });
  return [...new Set(found)];
}

/** The set by itself, as its sheet is printed: what the schedule shows already is in it too. */
function planRows(loaded: LoadedProduct, kind: CheckSetKind): readonly PicturedRow[] {
  return planCheckRows(loaded, kind, null).added.map(({ code, choices }) => ({ code, choices }));
}

function add(context: Context, of: Pick<Job, 'id' | 'product' | 'line'>, request: PicturesRequest): Promise<Job> {
  const total = countPictures(request);
  if (total > PICTURE_LIMIT) {
    throw new Problem('too-many-variants', {
      detail: PRODUCT_PROBLEMS['too-many-variants'].pictures(total, PICTURE_LIMIT),
      expected: PICTURE_LIMIT,
      received: total,
    });
  }
  return context.jobs.add({ ...of, kind: 'pictures', total, request });
}
