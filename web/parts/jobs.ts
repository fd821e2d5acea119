import type { JobAnswer, JobEvent, JobListAnswer } from '../../server/http/contracts/job.ts';
import { get, seg } from '../api.ts';
import { pictureJobTexts as texts } from '../texts/pictures.ts';

/** The state of a job, without its request, which never changes. */
export type JobProgress = Omit<JobAnswer, 'request'>;

/** Whether a job still waits or runs. */
export function isOpenJob(state: JobAnswer['state']): boolean {
  return state === 'queued' || state === 'running';
}

/** Receives the events of a job. */
export interface JobListener {
  onEvent(event: JobEvent): void;
  /** The job has ended; `onEvent` has received the last event. */
  onEnd(): void;
  /** The connection is lost; the job continues. */
  onConnectionLost(): void;
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
  const pass = (event: MessageEvent<string>) => listener.onEvent(JSON.parse(event.data) as JobEvent);
  source.addEventListener('progress', pass);
  source.addEventListener('end', (event) => {
    pass(event);
    stop();
    listener.onEnd();
  });
  source.onerror = () => {
    if (source.readyState === EventSource.CLOSED && followed) listener.onConnectionLost();
  };
  return stop;
}

/** The latest job of a kind if it is still open. Jobs continue when a page closes. */
export async function findOpenJob(query: string, kind: JobAnswer['kind']): Promise<JobAnswer | null> {
  const { jobs } = await get<JobListAnswer>(`/api/jobs?${query}`);
  const last = jobs.find((job) => job.kind === kind);
  if (!last || !isOpenJob(last.state)) return null;
  return get<JobAnswer>(`/api/jobs/${seg(last.id)}`);
}

/** The progress or the outcome of a picture job, in one or two sentences. */
export function describeJob({ state, done, total, failed, remainingMs }: JobProgress): string {
  switch (state) {
    case 'queued':
      return texts.queued(done, total);
    case 'running':
      return remainingMs === undefined
        ? texts.starting(done, total)
        : texts.running(done, total, describeTimeLeft(remainingMs));
    case 'done':
      return failed === 0 ? texts.allDone(total) : texts.someFailed(total, failed);
    case 'failed':
      return texts.allFailed(total);
    case 'cancelled':
      return texts.cancelled(done, total);
  }
}

/** Rounded as people plan: steps of ten seconds below a minute, then minutes, then hours and steps of ten minutes. */
export function describeTimeLeft(ms: number): string {
  const seconds = ms / 1000;
  if (seconds <= 10) return texts.fewSecondsLeft;
  if (seconds <= 50) return texts.secondsLeft(Math.ceil(seconds / 10) * 10);
  const minutes = Math.max(1, Math.round(seconds / 60));
  if (minutes < 60) return texts.minutesLeft(minutes);
  const rounded = Math.round(minutes / 10) * 10;
  return texts.hoursLeft(Math.floor(rounded / 60), rounded % 60);
}
