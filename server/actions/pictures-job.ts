import { foldCode } from '../core/codes.ts';
import type { CheckSetKind } from '../core/combinations/plan-check-set.ts';
import type { Job } from '../core/job/job.ts';
import {
  countPictures,
  findPart,
  PICTURES_DEFAULT,
  type PicturedProduct,
  type PicturedRow,
  type PicturesRequest,
  readPicturesRequest,
} from '../core/job/pictures-job.ts';
import { Problem } from '../core/problems.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { getLine } from './edit-line.ts';
import { planCheckRows } from './edit-schedule.ts';
import { describeDeleted } from './job-runner.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, requireModel, requireSchedule, unknownVariant } from './loaded-product.ts';
import { isBusyNow } from './retry-while-busy.ts';
import { takeChoicePicture, takeVariantPicture } from './take-picture.ts';

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

/**
 * Makes picture number `part` of a job, of variants as they are now; says so where it was there already.
 * @throws Problem as `takeVariantPicture` and `takeChoicePicture`, in words that stand in a list of what failed
 */
export async function makeJobPicture(context: Context, job: Job, part: number): Promise<'found' | undefined> {
  const request = readPicturesRequest(job);
  const { product, variant, choices, view, sizePx, format } = findPart(request, part)!;
  const { ground, shadow, scale } = request;
  const many = job.total > 1;
  const framing = { scale };
  const asked = { widthPx: sizePx, heightPx: sizePx, format, view, ground, framing, shadow, many };
  try {
    const { source } = await (choices === null
      ? takeVariantPicture(context, product, variant, asked)
      : takeChoicePicture(context, product, choices, asked));
    return source === 'stored' ? 'found' : undefined;
  } catch (error) {
    throw explainFailure(error, product, variant);
  }
}

/**
 * Why a part of a job did not come out, in words that stand in a list. What is busy now stays as it is: it is tried again.
 * @param variant or the finish of a swatch
 */
export function explainFailure(error: unknown, product: string, variant: string): unknown {
  if (!(error instanceof Problem) || isBusyNow(error)) return error;
  const { code, more } = error;
  return new Problem(code, { ...more, detail: describe(error, product, variant), cause: error });
}

/** What is true of a whole product or variant is said in the same words each time, and then stands once. */
function describe({ code, message }: Problem, product: string, variant: string): string {
  if (code === 'unknown-product') return describeDeleted(product);
  if (code === 'unknown-variant') {
    return `${product}: the variant ${variant} is not in the schedule any more; it was when the job began.`;
  }
  return code === 'no-model' ? `${product}: ${message}` : `${product} ${variant}: ${message}`;
}
