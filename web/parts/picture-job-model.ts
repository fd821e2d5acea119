import { batch, signal } from '@preact/signals';
import type { ImageFormat } from '../../server/core/picture/picture.ts';
import type { JobAnswer, JobPicture, JobPicturesAnswer } from '../../server/http/contracts/job.ts';
import { call, get, getErrorMessage, seg } from '../api.ts';
import { pictureJobTexts } from '../texts/pictures.ts';
import { findOpenJob, followJob, type JobListener, type JobProgress } from './jobs.ts';

/** Composed pictures may arrive thirty times a second; the page is updated less often. */
const SHOW_INTERVAL_MS = 500;
/** Pictures added to the full list at a time. */
const LIST_STEP = 60;

/** The product or line whose pictures are made. */
interface PictureJobOwner {
  /** `/api/products/{product}` or `/api/lines/{line}`. */
  readonly path: string;
  /** Filters the list of jobs: `product=…` or `line=…`. */
  readonly query: string;
}

/** A job that makes many pictures, its progress, and the pictures as they arrive. */
export function createPictureJobModel({ path, query }: PictureJobOwner) {
  const size = signal(1024);
  const format = signal<ImageFormat>('webp');
  const job = signal<JobProgress | null>(null);
  const latest = createLatestPictures();
  /** The pictures in order, as far as they are loaded; null while only the latest are shown. */
  const listed = signal<JobPicturesAnswer | null>(null);
  /** Skipped products, each with the reason. */
  const skipped = signal<readonly string[]>([]);
  const problem = signal<string | null>(null);
  let unfollow = () => {};
  let timer: ReturnType<typeof setInterval> | null = null;

  /** Follows the last job if it is still open: a job continues when its page is closed. */
  async function find(): Promise<void> {
    if (job.value) return;
    try {
      const open = await findOpenJob(query, 'pictures');
      if (open && !job.value) follow(open, Math.max(0, open.done - latest.count));
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  async function start(rows: { readonly checkSet?: string } = {}): Promise<void> {
    problem.value = null;
    try {
      const json = { sizes: [size.value], formats: [format.value], ...rows };
      follow((await call<JobAnswer>('POST', `${path}/pictures`, { json })).data, 0);
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  function follow(next: JobAnswer, after: number): void {
    close();
    const { request, ...progress } = next;
    const { leftOut = [] } = request as { leftOut?: readonly { product: string; reason: string }[] };
    batch(() => {
      job.value = progress;
      skipped.value = leftOut.map(({ product, reason }) => `${product}: ${reason}`);
      listed.value = null;
      latest.clear();
    });
    timer = setInterval(latest.showNext, SHOW_INTERVAL_MS);
    const listener: JobListener = {
      onEvent({ arrived, ...state }) {
        job.value = state;
        latest.add(arrived);
      },
      onEnd: close,
      onConnectionLost() {
        problem.value = pictureJobTexts.connectionLost;
      },
    };
    unfollow = followJob(next.id, listener, after);
  }

  async function cancel(): Promise<void> {
    if (!job.value) return;
    try {
      const { request: _, ...progress } = (await call<JobAnswer>('DELETE', `/api/jobs/${seg(job.value.id)}`)).data;
      // a running job ends with its next event, once the parts under way are done
      if (progress.state !== 'running') job.value = progress;
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  /** Loads the next pictures in order, beginning with the first. */
  async function listMore(): Promise<void> {
    if (!job.value) return;
    const { pictures, next } = listed.value ?? { pictures: [], next: 0 };
    try {
      const more = await get<JobPicturesAnswer>(
        `/api/jobs/${seg(job.value.id)}/pictures?after=${next}&limit=${LIST_STEP}`,
      );
      listed.value = { pictures: [...pictures, ...more.pictures], next: more.next };
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  function close(): void {
    unfollow();
    unfollow = () => {};
    if (timer !== null) clearInterval(timer);
    timer = null;
    latest.showRest();
  }

  return { size, format, job, latest, listed, skipped, problem, find, start, cancel, listMore, close };
}

export type PictureJobModel = ReturnType<typeof createPictureJobModel>;

/** Two rows of six. */
const PLACES = 12;
/** More changes at once would flicker. */
const CHANGES_PER_STEP = 2;

/**
 * The latest pictures of a job, each in a fixed place on the page. Once all places are full, a new picture replaces the
 * oldest one at the same place, so the others do not move. Pictures that arrive faster than they can be shown are skipped.
 */
export function createLatestPictures() {
  const shown = signal<readonly JobPicture[]>([]);
  let waiting: JobPicture[] = [];
  let next = 0;

  function put(count: number): void {
    if (waiting.length === 0) return;
    const places = [...shown.value];
    for (const picture of waiting.splice(0, count)) {
      places[next] = picture;
      next = (next + 1) % PLACES;
    }
    shown.value = places;
  }

  return {
    count: PLACES,
    shown,
    add(arrived: readonly JobPicture[]): void {
      waiting = [...waiting, ...arrived].slice(-PLACES);
    },
    showNext: () => put(CHANGES_PER_STEP),
    /** Shows all that waits, when no more pictures will arrive. */
    showRest: () => put(PLACES),
    clear(): void {
      shown.value = [];
      waiting = [];
      next = 0;
    },
  };
}
