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
import { locateFiles, planProductSet, sortByView } from './product-set.ts';
import type { Picture } from './take-picture.ts';

/** One file: its variant or finish, and what distinguishes it from the other files of the set. */
interface SetPart extends Pick<PictureKey, 'view' | 'widthPx' | 'heightPx' | 'bleedPx' | 'ground' | 'layer'> {
  /** Code of the variant, or of the finish. */
  readonly of: string;
}

/** The task of a job. It contains the set as it was, so that a later change of the set does not mix two versions. */
interface SetJobRequest {
  readonly set: PictureSet;
  /** Files that did not exist when the job was added. */
  readonly parts: readonly SetPart[];
  /** Number of files that existed. */
  readonly kept: number;
}

/** Files of one job. A product with more needs several jobs, by variants. */
const SET_JOB_LIMIT = 20_000;

/**
 * Adds a job that makes the missing files of a set.
 * @param variants codes of the variants whose files it makes. Default: all
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
  const files = await locateFiles(context, planned);
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
 * Makes one file of a job, from the schedule as it is now.
 * @param part number of the file, from 0
 * @returns `found` if the file existed already
 * @throws Problem `unknown-variant` if the variant was removed, and as `findSetFile`, with the text that the list of failures
 *   shows
 */
export async function makeSetFile(context: Context, job: Job, part: number): Promise<'found' | undefined> {
  const { set, parts } = job.request as SetJobRequest;
  const product = job.product!;
  try {
    const { source, fault } = await takePart(context, product, set, parts[part]!);
    // a job makes files to store them
    if (fault) throw fault;
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
