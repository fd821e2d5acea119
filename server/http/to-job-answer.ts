import { listArrived, type PicturePart, readPicturesRequest } from '../core/job/pictures-job.ts';
import type { Job } from '../core/ports/jobs.ts';
import type { JobAnswer, JobPicture, JobPicturesAnswer } from './contracts/job.ts';

/** Leaves out the lists that only the job itself needs: they may have twenty thousand entries. */
export function toJobAnswer({ finished: _, failedParts: __, request, ...job }: Job): JobAnswer {
  const { of: _of, variants: _variants, parts: _parts, ...rest } = request as Record<string, unknown>;
  return { ...job, request: rest };
}

/** Finished pictures, each with its URL path. */
export function toJobPictures(job: Job, after: number, limit: number): JobPicturesAnswer {
  const { pictures, next } = listArrived(job, after, limit);
  const { ground, shadow, scale } = readPicturesRequest(job);
  return {
    pictures: pictures.map(({ choices, ...picture }): JobPicture => {
      const query = new URLSearchParams({ size: String(picture.sizePx), view: picture.view });
      // people read these URLs, so defaults are left out
      if (ground !== 'transparent') query.set('ground', ground.replace('#', ''));
      if (shadow !== 'with') query.set('shadow', shadow);
      if (scale === 'line') query.set('scale', scale);
      return { ...picture, url: `${fileUrl({ choices, ...picture }, query)}${query}` };
    }),
    next,
  };
}

/** The URL path up to the query. A row that is in no schedule puts its choices into the query. */
function fileUrl({ product, variant, choices, format }: PicturePart, query: URLSearchParams): string {
  const base = `/api/products/${encodeURIComponent(product)}`;
  if (choices === null) return `${base}/pictures/${encodeURIComponent(variant)}.${format}?`;
  for (const [slot, finish] of Object.entries(choices)) query.append('choice', `${slot}:${finish}`);
  return `${base}/picture.${format}?`;
}
