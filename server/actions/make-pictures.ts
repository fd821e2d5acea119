import { foldCode } from '../core/codes.ts';
import { type ImageFormat, PICTURE_SIZE_PX, type View } from '../core/picture/picture.ts';
import type { Job } from '../core/ports/jobs.ts';
import { Problem } from '../core/problems.ts';
import type { Context } from './context.ts';
import { needSchedule } from './deliver.ts';
import { loadProduct, needModel } from './load-product.ts';
import { takeVariantPicture } from './take-picture.ts';

/** What a picture job is to make: every combination of the four. */
export interface PicturesRequest {
  readonly variants: readonly string[];
  readonly sizes: readonly number[];
  readonly formats: readonly ImageFormat[];
  readonly views: readonly View[];
}

/** Pictures of one job; a line with more is made in several. */
const PICTURE_LIMIT = 20_000;

/**
 * Adds a job that makes a product's pictures; all variants of the schedule when none are named.
 * @throws Problem `no-model`, `no-schedule`, `unknown-variant`, `too-many-variants`, `queue-full`
 */
export async function addPicturesJob(
  context: Context,
  code: string,
  id: string,
  given: Partial<PicturesRequest>,
): Promise<Job> {
  const loaded = await loadProduct(context, code);
  needModel(loaded);
  const schedule = needSchedule(loaded);
  const known = new Map(schedule.variants.map((variant) => [foldCode(variant.code), variant.code]));
  const variants = given.variants?.map((variant) => {
    const found = known.get(foldCode(variant));
    if (found) return found;
    throw new Problem('unknown-variant', {
      detail: `The schedule has no variant “${variant.slice(0, 80)}”.`,
      received: variant.slice(0, 80),
    });
  }) ?? [...known.values()];
  const request: PicturesRequest = {
    variants,
    sizes: given.sizes ?? [PICTURE_SIZE_PX.default],
    formats: given.formats ?? ['png'],
    views: given.views ?? ['three-quarter'],
  };
  const total = request.variants.length * request.sizes.length * request.formats.length * request.views.length;
  if (total > PICTURE_LIMIT) {
    throw new Problem('too-many-variants', {
      detail: `That makes ${total} pictures; one job makes ${PICTURE_LIMIT} at most. Ask for fewer variants or sizes.`,
      expected: PICTURE_LIMIT,
      received: total,
    });
  }
  return context.jobs.add({ id, kind: 'pictures', product: loaded.product.code, total, request });
}

/**
 * Makes picture number `part` of a job. Views change slowest: the studio works out the light of a view once and keeps it
 * for as long as the view stays.
 */
export async function makeJobPicture(context: Context, job: Job, part: number): Promise<void> {
  const { variants, sizes, formats, views } = job.request as PicturesRequest;
  const turn = <T>(list: readonly T[], every: number): T => list[Math.floor(part / every) % list.length]!;
  const sizePx = turn(sizes, formats.length);
  await takeVariantPicture(context, job.product, turn(variants, formats.length * sizes.length), {
    widthPx: sizePx,
    heightPx: sizePx,
    format: turn(formats, 1),
    view: turn(views, formats.length * sizes.length * variants.length),
    ground: 'transparent',
    many: job.total > 1,
  });
}
