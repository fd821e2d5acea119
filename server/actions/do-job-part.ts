import type { Job } from '../core/job/job.ts';
import { makeForm } from './compress-delivery.ts';
import type { Context } from './context.ts';
import { makeSetFile } from './picture-set-job.ts';
import { makeJobPicture } from './pictures-job.ts';

/** Does one part of a job of any kind; see `DoPart` of the job runner. */
export function doJobPart(context: Context, job: Job, part: number, signal: AbortSignal): Promise<'found' | undefined> {
  if (job.kind === 'delivery-forms') return makeForm(context, job, part, signal);
  return job.kind === 'picture-set' ? makeSetFile(context, job, part) : makeJobPicture(context, job, part);
}
