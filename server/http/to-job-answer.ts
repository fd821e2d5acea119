import { listArrived, type PicturePart, readPicturesRequest } from '../core/job/pictures-job.ts';
import type { Job } from '../core/ports/jobs.ts';
import type { ArrivedPicture, JobAnswer, JobPicturesAnswer } from './picture-answers.ts';

/** Without what only the job itself needs: what it makes may be a list of twenty thousand. */
export function toJobAnswer({ finished: _, failedParts: __, request, ...job }: Job): JobAnswer {
  const { of: _of, variants: _variants, parts: _parts, ...said } = request as Record<string, unknown>;
  return { ...job, request: said };
}

/** Pictures that have arrived, each with the address that finds it. */
export function toJobPictures(job: Job, after: number, limit: number): JobPicturesAnswer {
  const { pictures, next } = listArrived(job, after, limit);
  const { ground, shadow, scale } = readPicturesRequest(job);
  return {
    pictures: pictures.map(({ choices, ...picture }): ArrivedPicture => {
      const query = new URLSearchParams({ size: String(picture.sizePx), view: picture.view });
      // what is the default is not said: addresses are shown, and read
      if (ground !== 'transparent') query.set('ground', ground.replace('#', ''));
      if (shadow !== 'with') query.set('shadow', shadow);
      if (scale === 'line') query.set('scale', scale);
      return { ...picture, url: `${addressFile({ choices, ...picture }, query)}${query}` };
    }),
    next,
  };
}

/** The address up to the query, into which the choices of a row that no schedule has are put. */
function addressFile({ product, variant, choices, format }: PicturePart, query: URLSearchParams): string {
  const base = `/api/products/${encodeURIComponent(product)}`;
  if (choices === null) return `${base}/pictures/${encodeURIComponent(variant)}.${format}?`;
  for (const [slot, finish] of Object.entries(choices)) query.append('choice', `${slot}:${finish}`);
  return `${base}/picture.${format}?`;
}
