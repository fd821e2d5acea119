import { findPicture, readPicturesRequest } from '../core/job/pictures-job.ts';
import type { Job } from '../core/ports/jobs.ts';
import { Problem } from '../core/problems.ts';
import { isBusyNow } from './busy.ts';
import type { Context } from './context.ts';
import { takeChoicePicture, takeVariantPicture } from './take-picture.ts';

/**
 * Makes picture number `part` of a job, of variants as they are now; says so where it was there already.
 * @throws Problem as `takeVariantPicture` and `takeChoicePicture`, in words that stand in a list of what failed
 */
export async function makeJobPicture(context: Context, job: Job, part: number): Promise<'found' | undefined> {
  const request = readPicturesRequest(job);
  const { product, variant, choices, view, sizePx, format } = findPicture(request, part)!;
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
    throw isBusyNow(error) ? error : sayFailed(error, product, variant);
  }
}

function sayFailed(error: unknown, product: string, variant: string): unknown {
  if (!(error instanceof Problem)) return error;
  const { code, more } = error;
  return new Problem(code, { ...more, detail: describe(error, product, variant), cause: error });
}

/** What is true of a whole product or variant is said in the same words each time, and then stands once. */
function describe({ code, message }: Problem, product: string, variant: string): string {
  if (code === 'unknown-product') return `${product} was deleted after the job began; its pictures are not made.`;
  if (code === 'unknown-variant') {
    return `${product}: the variant ${variant} is not in the schedule any more; it was when the job began.`;
  }
  return code === 'no-model' ? `${product}: ${message}` : `${product} ${variant}: ${message}`;
}
