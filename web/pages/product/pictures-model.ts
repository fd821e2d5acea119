import { signal } from '@preact/signals';
import type { ImageFormat } from '../../../server/core/picture/picture.ts';
import type { Job } from '../../../server/core/ports/jobs.ts';
import { call, say, seg } from '../../api.ts';

/** A picture of a job that has arrived. */
export interface MadePicture {
  readonly variant: string;
  readonly address: string;
}

/** Making the pictures of all variants: a job, its progress, and the pictures as they arrive. */
export function createPicturesModel(product: string) {
  const size = signal(1024);
  const format = signal<ImageFormat>('webp');
  const job = signal<Job | null>(null);
  const trouble = signal<string | null>(null);
  let events: EventSource | null = null;

  async function start(): Promise<void> {
    trouble.value = null;
    close();
    try {
      const json = { sizes: [size.value], formats: [format.value] };
      const { data } = await call<Job>('POST', `/api/products/${seg(product)}/pictures`, { json });
      job.value = data;
      watch(data.id);
    } catch (error) {
      trouble.value = say(error);
    }
  }

  function watch(id: string): void {
    const source = new EventSource(`/api/jobs/${seg(id)}/events`);
    events = source;
    const take = (event: MessageEvent<string>) => {
      job.value = { ...job.value, ...(JSON.parse(event.data) as Job) };
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
      const { data } = await call<Job | undefined>('DELETE', `/api/jobs/${seg(job.value.id)}`);
      if (data) job.value = data;
    } catch (error) {
      trouble.value = say(error);
    }
  }

  function close(): void {
    events?.close();
    events = null;
  }

  return { size, format, job, trouble, start, cancel, close };
}

export type PicturesModel = ReturnType<typeof createPicturesModel>;

/** The pictures of a job that are done, the newest last; a job makes them in the order of its variants. */
export function listMade(job: Job): MadePicture[] {
  const { variants, sizes, formats } = job.request as {
    readonly variants: readonly string[];
    readonly sizes: readonly number[];
    readonly formats: readonly ImageFormat[];
  };
  const base = `/api/products/${seg(job.product)}/pictures`;
  return variants.slice(0, job.done).map((variant) => ({
    variant,
    address: `${base}/${seg(variant)}.${formats[0]}?size=${sizes[0]}`,
  }));
}

export function describeJob(job: Job): string {
  const done = `${job.done} of ${job.total} pictures`;
  const words: Readonly<Record<Job['state'], string>> = {
    queued: `${done}: waiting for its turn.`,
    running: job.remainingMs === undefined ? `${done}.` : `${done}; ${sayRemaining(job.remainingMs)} left.`,
    done: `${done}: all made.`,
    failed: `${done}: it stopped there.`,
    cancelled: `${done}: cancelled; what was made is kept.`,
  };
  return words[job.state];
}

/** In the unit one thinks in: seconds below a minute, then minutes, then hours and minutes. */
export function sayRemaining(ms: number): string {
  const seconds = Math.ceil(ms / 1000);
  if (seconds < 60) return `about ${seconds} s`;
  const minutes = Math.ceil(seconds / 60);
  return minutes < 60 ? `about ${minutes} min` : `about ${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}
