import type { JobAnswer, JobEvent, JobListAnswer } from '../../server/http/picture-answers.ts';
import { get, seg } from '../api.ts';

/** What a job tells of itself; what it was asked for does not change. */
export type ToldJob = Omit<JobAnswer, 'request'>;

/** What is told of a job that goes on. */
export interface JobListener {
  take(event: JobEvent): void;
  /** It has ended, and the last event was taken. */
  end(): void;
  /** It goes on, and cannot be followed any more. */
  lose(): void;
}

/**
 * Follows a job by its events until it ends.
 * @param after parts whose pictures need not be told; those that are there when absent
 * @returns ends the following, and leaves the job alone
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

/** The last job of a kind where it still goes on, whole: it does not stop when a page is left. */
export async function findOpenJob(query: string, kind: JobAnswer['kind']): Promise<JobAnswer | null> {
  const { jobs } = await get<JobListAnswer>(`/api/jobs?${query}`);
  const last = jobs.find((job) => job.kind === kind);
  if (!last || (last.state !== 'queued' && last.state !== 'running')) return null;
  return get<JobAnswer>(`/api/jobs/${seg(last.id)}`);
}
