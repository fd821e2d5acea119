import { batch, signal } from '@preact/signals';
import type { ImageFormat } from '../../../server/core/picture/picture.ts';
import type { JobAnswer, JobEvent, JobListAnswer, JobPicturesAnswer } from '../../../server/http/picture-answers.ts';
import { call, get, say, seg } from '../../api.ts';
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
  const job = signal<Omit<JobAnswer, 'request'> | null>(null);
  const places = createPlaces();
  /** All pictures in order, as far as they are shown; null while only the latest are. */
  const listed = signal<JobPicturesAnswer | null>(null);
  /** Products that were left out, each with why. */
  const leftOut = signal<readonly string[]>([]);
  const trouble = signal<string | null>(null);
  let events: EventSource | null = null;
  let timer: ReturnType<typeof setInterval> | null = null;

  /** Takes up the last job where it still goes on: it does not stop when a page is left. */
  async function find(): Promise<void> {
    if (job.value) return;
    try {
      const { jobs } = await get<JobListAnswer>(`/api/jobs?${query}`);
      const last = jobs.find(({ kind }) => kind === 'pictures');
      if (job.value || !last || (last.state !== 'running' && last.state !== 'queued')) return;
      const whole = await get<JobAnswer>(`/api/jobs/${seg(last.id)}`);
      if (!job.value) follow(whole, Math.max(0, whole.done - places.count));
    } catch (error) {
      trouble.value = say(error);
    }
  }

  async function start(rows: { readonly checkSet?: string } = {}): Promise<void> {
    trouble.value = null;
    try {
      const json = { sizes: [size.value], formats: [format.value], ...rows };
      follow((await call<JobAnswer>('POST', `${path}/pictures`, { json })).data, 0);
    } catch (error) {
      trouble.value = say(error);
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
    const source = new EventSource(`/api/jobs/${seg(next.id)}/events?after=${after}`);
    events = source;
    timer = setInterval(places.show, SHOWN_EVERY_MS);
    const take = (event: MessageEvent<string>) => {
      const { arrived, ...progress } = JSON.parse(event.data) as JobEvent;
      job.value = progress;
      places.add(arrived);
    };
    source.addEventListener('progress', take);
    source.addEventListener('end', (event) => {
      take(event);
      close();
    });
    source.onerror = () => {
      if (source.readyState !== EventSource.CLOSED || events !== source) return;
      trouble.value = 'The progress cannot be followed any more; the pictures go on. Load the page again to see them.';
    };
  }

  async function cancel(): Promise<void> {
    if (!job.value) return;
    try {
      const { request: _, ...told } = (await call<JobAnswer>('DELETE', `/api/jobs/${seg(job.value.id)}`)).data;
      // one that runs ends with its next event, when the parts under way are over
      if (told.state !== 'running') job.value = told;
    } catch (error) {
      trouble.value = say(error);
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
      trouble.value = say(error);
    }
  }

  function close(): void {
    events?.close();
    events = null;
    if (timer !== null) clearInterval(timer);
    timer = null;
    places.settle();
  }

  return { size, format, job, places, listed, leftOut, trouble, find, start, cancel, listMore, close };
}

export type PictureJobModel = ReturnType<typeof createPictureJobModel>;
