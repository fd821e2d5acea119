import type { JobAnswer, JobEvent, JobListAnswer } from '../../server/http/contracts/job.ts';
import { get, seg } from '../api.ts';

/** The state of a job, without its request, which never changes. */
export type JobProgress = Omit<JobAnswer, 'request'>;

/** Receives the events of a job. */
export interface JobListener {
  take(event: JobEvent): void;
  /** The job has ended; `take` has received the last event. */
  end(): void;
  /** The connection is lost; the job continues. */
  lose(): void;
}

/**
 * Follows a job by its events until it ends.
 * @param after leaves out the pictures of the first so many parts; default: those already finished
 * @returns stops following; the job continues
 */
export function followJob(id: string, listener: JobListener, after?: number): () => void {
  const source = new EventSource(`/api/jobs/${seg(id)}/events${after === undefined ? '' : `?after=${after}`}`);
  let followed = true;
  const stop = () => {
    followed = false;
    source.close();
  };
  const take = (event: MessageEvent<string>) => listener.take(JSON.parse(event.data) as JobEvent);
  source.addEventListener('progress', take);
  source.addEventListener('end', (event) => {
    take(event);
    stop();
    listener.end();
  });
  source.onerror = () => {
    if (source.readyState === EventSource.CLOSED && followed) listener.lose();
  };
  return stop;
}

/** The latest job of a kind if it is still open. Jobs continue when a page closes. */
export async function findOpenJob(query: string, kind: JobAnswer['kind']): Promise<JobAnswer | null> {
  const { jobs } = await get<JobListAnswer>(`/api/jobs?${query}`);
  const last = jobs.find((job) => job.kind === kind);
  if (!last || (last.state !== 'queued' && last.state !== 'running')) return null;
  return get<JobAnswer>(`/api/jobs/${seg(last.id)}`);
}
