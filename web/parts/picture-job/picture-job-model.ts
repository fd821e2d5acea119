import { batch, signal } from '@preact/signals';
import type { ImageFormat } from '../../../server/core/picture/picture.ts';
import type { JobAnswer, JobPicturesAnswer } from '../../../server/http/picture-answers.ts';
import { call, get, getErrorMessage, seg } from '../../api.ts';
import { findOpenJob, followJob, type JobListener, type JobProgress } from '../follow-job.ts';
import { createPlaces } from './places.ts';

/** How often what has arrived is put on the page; a composed picture may arrive every thirtieth of a second. */
const SHOWN_EVERY_MS = 500;
/** Pictures in the list of all, at first and with every step. */
const STEP = 60;

/** Whose pictures are made. */
export interface PictureJobOf {
  /** `/api/products/{product}` or `/api/lines/{line}`. */
  readonly path: string;
  /** Finds the jobs of it: `product=…` or `line=…`. */
  readonly query: string;
}

/** Making many pictures: a job, its progress, and the pictures as they arrive. */
export function createPictureJobModel({ path, query }: PictureJobOf) {
  const size = signal(1024);
  const format = signal<ImageFormat>('webp');
  const job = signal<JobProgress | null>(null);
  const places = createPlaces();
  /** All pictures in order, as far as they are shown; null while only the latest are. */
  const listed = signal<JobPicturesAnswer | null>(null);
  /** Products that were left out, each with why. */
  const leftOut = signal<readonly string[]>([]);
  const trouble = signal<string | null>(null);
  let unfollow = () => {};
  let timer: ReturnType<typeof setInterval> | null = null;

  /** Takes up the last job where it still goes on: it does not stop when a page is left. */
  async function find(): Promise<void> {
    if (job.value) return;
    try {
      const open = await findOpenJob(query, 'pictures');
      if (open && !job.value) follow(open, Math.max(0, open.done - places.count));
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  async function start(rows: { readonly checkSet?: string } = {}): Promise<void> {
    trouble.value = null;
    try {
      const json = { sizes: [size.value], formats: [format.value], ...rows };
      follow((await call<JobAnswer>('POST', `${path}/pictures`, { json })).data, 0);
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  function follow(next: JobAnswer, after: number): void {
    close();
    const { request, ...told } = next;
    const left = (request as { leftOut?: readonly { product: string; reason: string }[] }).leftOut ?? [];
    batch(() => {
      job.value = told;
      leftOut.value = left.map(({ product, reason }) => `${product}: ${reason}`);
      listed.value = null;
      places.clear();
    });
    timer = setInterval(places.show, SHOWN_EVERY_MS);
    const listener: JobListener = {
      take({ arrived, ...progress }) {
        job.value = progress;
        places.add(arrived);
      },
      end: close,
      lose() {
        trouble.value =
          'The progress cannot be followed any more; the pictures go on. Load the page again to see them.';
      },
    };
    unfollow = followJob(next.id, listener, after);
  }

  async function cancel(): Promise<void> {
    if (!job.value) return;
    try {
      const { request: _, ...told } = (await call<JobAnswer>('DELETE', `/api/jobs/${seg(job.value.id)}`)).data;
      // one that runs ends with its next event, when the parts under way are over
      if (told.state !== 'running') job.value = told;
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  /** The next pictures in order, from the first. */
  async function listMore(): Promise<void> {
    if (!job.value) return;
    const { pictures, next } = listed.value ?? { pictures: [], next: 0 };
    try {
      const more = await get<JobPicturesAnswer>(`/api/jobs/${seg(job.value.id)}/pictures?after=${next}&limit=${STEP}`);
      listed.value = { pictures: [...pictures, ...more.pictures], next: more.next };
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  function close(): void {
    unfollow();
    unfollow = () => {};
    if (timer !== null) clearInterval(timer);
    timer = null;
    places.settle();
  }

  return { size, format, job, places, listed, leftOut, trouble, find, start, cancel, listMore, close };
}

export type PictureJobModel = ReturnType<typeof createPictureJobModel>;
