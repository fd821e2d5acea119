import type { Job } from '../core/job/job.ts';
import type { PictureSet } from '../core/picture/picture-set.ts';
import type { PictureKey, PlannedPicture } from '../core/picture/plan-picture-set.ts';
import { Problem } from '../core/problems.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { findSetFile } from './find-set-file.ts';
import { loadProduct } from './load-product.ts';
import { requireVariant } from './loaded-product.ts';
import { explainFailure } from './pictures-job.ts';
import { judgeFiles, planProductSet, sortByView } from './product-set.ts';
import type { Picture } from './take-picture.ts';

/** One file: what of, and what tells it apart from the others of the set. */
export interface SetPart extends Pick<PictureKey, 'view' | 'widthPx' | 'heightPx' | 'bleedPx' | 'ground' | 'layer'> {
  /** Code of the variant, or of the finish. */
  readonly of: string;
}

/** What a job is to make. The set goes with it as it was: a change of it meanwhile makes no half of two sets. */
export interface SetJobRequest {
  readonly set: PictureSet;
  /** Those that were not there when the job was added. */
  readonly parts: readonly SetPart[];
  /** How many were. */
  readonly kept: number;
}

/** Files of one job; a product with more is made in several, by variants. */
const SET_JOB_LIMIT = 20_000;

/**
 * Adds a job that makes what is not there yet of a set; of all variants when none are named.
 * @throws Problem `too-many-variants`, `queue-full`, and as `planProductSet`
 */
export async function addSetJob(
  context: Context,
  product: string,
  code: string,
  id: string,
  variants?: readonly string[],
): Promise<Job & { readonly kept: number }> {
  const planned = await planProductSet(context, product, code, variants);
  const files = await judgeFiles(context, planned);
  const missing = sortByView(
    planned.set,
    files.filter(({ held }) => held === null),
  );
  if (missing.length > SET_JOB_LIMIT) {
    throw new Problem('too-many-variants', {
      detail: PRODUCT_PROBLEMS['too-many-variants'].files(missing.length, SET_JOB_LIMIT),
      expected: SET_JOB_LIMIT,
      received: missing.length,
    });
  }
  const kept = files.length - missing.length;
  const request: SetJobRequest = { set: planned.set, parts: missing.map(({ picture }) => toPart(picture)), kept };
  const job = await context.jobs.add({
    id,
    kind: 'picture-set',
    product: planned.loaded.product.code,
    total: missing.length,
    request,
  });
  return { ...job, kept };
}

function toPart({ of, variant, view, widthPx, heightPx, bleedPx, ground, layer }: PlannedPicture): SetPart {
  return { of: 'finish' in of ? of.finish : variant!, view, widthPx, heightPx, bleedPx, ground, layer };
}

/**
 * Makes file number `part` of a job, of the schedule as it stands by then; says so where it was there already.
 * @throws Problem `unknown-variant` where it went meanwhile, and as `findSetFile`, in words that stand in a list of what failed
 */
export async function makeSetFile(context: Context, job: Job, part: number): Promise<'found' | undefined> {
  const { set, parts } = job.request as SetJobRequest;
  const product = job.product!;
  try {
    const { source } = await takePart(context, product, set, parts[part]!);
    return source === 'stored' ? 'found' : undefined;
  } catch (error) {
    throw explainFailure(error, product, parts[part]!.of);
  }
}

async function takePart(
  context: Context,
  product: string,
  set: PictureSet,
  { of, ...rest }: SetPart,
): Promise<Picture> {
  const loaded = await loadProduct(context, product);
  const variant = set.subject.kind === 'variants' ? requireVariant(loaded, of) : null;
  const { frame, format, quality = null, fill, scale } = set;
  const shot: PictureKey = {
    ...rest,
    of: variant ? { choices: variant.choices } : { finish: of },
    ppi: 'ppi' in frame ? frame.ppi : null,
    format,
    quality,
    fill,
    scale,
  };
  return (await findSetFile(context, loaded, shot, variant)).take();
}
