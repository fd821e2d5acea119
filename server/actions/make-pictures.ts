import { findPart, readPicturesRequest } from '../core/job/pictures-job.ts';
import type { Job } from '../core/ports/jobs.ts';
import type { Context } from './context.ts';
import { sayFailed } from './say-failed.ts';
import { takeChoicePicture, takeVariantPicture } from './take-picture.ts';

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
    throw sayFailed(error, product, variant);
  }
}
