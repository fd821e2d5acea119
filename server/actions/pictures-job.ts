import { foldCode } from '../core/codes.ts';
import type { CheckSetKind } from '../core/combinations/plan-check-set.ts';
import {
  countPictures,
  findPart,
  type Job,
  PICTURES_DEFAULT,
  type PicturedProduct,
  type PicturedRow,
  type PicturesRequest,
  readPicturesRequest,
} from '../core/job/job.ts';
import { listProductsOf } from '../core/line/line.ts';
import { Problem } from '../core/problems.ts';
import { JOB_TEXTS } from '../core/texts/answer-texts.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { getLine } from './edit-line.ts';
import { planCheckRows } from './edit-schedule.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, requireModel, requireSchedule, unknownVariant } from './loaded-product.ts';
import { isBusyNow } from './retry-while-busy.ts';
import { takeChoicePicture, takeVariantPicture } from './take-picture.ts';

/** Settings of the pictures. Fields that are left out come from `PICTURES_DEFAULT`. */
export type GivenPictures = Partial<Omit<PicturesRequest, 'of' | 'leftOut'>>;

/** The rows of a product: some variants or a check set. Default: the whole schedule. */
interface GivenRows {
  readonly variants?: readonly string[];
  readonly checkSet?: CheckSetKind;
}

/** Pictures of one job: some days of work for a small machine. A line with more needs several jobs. */
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
    ? { product, rows: await planRows(context, loaded, checkSet) }
    : { product, variants: pickVariants(loaded, variants) };
  return add(context, { id, product }, { ...PICTURES_DEFAULT, ...given, of: [pictured] });
}

/**
 * Adds a job that makes the pictures of all products of a line that have a model and a schedule. Its request lists the other
 * products, with the reason.
 * @throws Problem `unknown-line-code`, `nothing-to-picture`, `too-many-variants`, `queue-full`
 */
export async function addLinePictures(context: Context, code: string, id: string, given: GivenPictures): Promise<Job> {
  const [{ line }, products] = await Promise.all([getLine(context, code), context.stores.listProducts()]);
  const members = listProductsOf(products, line);
  const of: PicturedProduct[] = [];
  const leftOut: { product: string; reason: string }[] = [];
  for (const { code: product } of members) {
    const [model, schedule] = await Promise.all([
      context.stores.getModel(product),
      context.stores.getSchedule(product),
    ]);
    if (model && schedule) of.push({ product, variants: schedule.schedule.variants.map((variant) => variant.code) });
    else leftOut.push({ product, reason: model ? JOB_TEXTS.noSchedule : JOB_TEXTS.noModel });
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

/** The whole check set, as its sheet prints it: existing rows of the schedule do not count as shown. */
async function planRows(context: Context, loaded: LoadedProduct, kind: CheckSetKind): Promise<readonly PicturedRow[]> {
  const { added } = await planCheckRows(context, loaded, kind, null);
  return added.map(({ code, choices }) => ({ code, choices }));
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
 * Makes one picture of a job, of the variant as it is now.
 * @param part number of the picture, from 0
 * @returns `found` if the picture existed already
 * @throws Problem as `takeVariantPicture` and `takeChoicePicture`, with the text that the list of failures shows
 */
export async function makeJobPicture(context: Context, job: Job, part: number): Promise<'found' | undefined> {
  const request = readPicturesRequest(job);
  const { product, variant, choices, view, sizePx, format } = findPart(request, part)!;
  const { ground, shadow, scale } = request;
  const many = job.total > 1;
  const framing = { scale };
  const asked = { widthPx: sizePx, heightPx: sizePx, format, view, ground, framing, shadow, many };
  try {
    const { source, fault } = await (choices === null
      ? takeVariantPicture(context, product, variant, asked)
      : takeChoicePicture(context, product, choices, asked));
    // a job makes pictures to store them
    if (fault) throw fault;
    return source === 'stored' ? 'found' : undefined;
  } catch (error) {
    throw explainFailure(error, product, variant);
  }
}

/**
 * The error of a part with the text that the list of failures shows. An error of a full studio stays as it is, since the job
 * tries again.
 * @param variant code of the variant, or of the finish of a swatch
 */
export function explainFailure(error: unknown, product: string, variant: string): unknown {
  if (!(error instanceof Problem) || isBusyNow(error)) return error;
  const { code, more } = error;
  return new Problem(code, { ...more, detail: describe(error, product, variant), cause: error });
}

function describe({ code, message }: Problem, product: string, variant: string): string {
  if (code === 'unknown-product') return JOB_TEXTS.productDeleted(product);
  if (code === 'unknown-variant') return JOB_TEXTS.variantRemoved(product, variant);
  return code === 'no-model' ? JOB_TEXTS.ofProduct(product, message) : JOB_TEXTS.ofVariant(product, variant, message);
}
