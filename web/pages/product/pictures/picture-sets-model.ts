import { batch, signal } from '@preact/signals';
import type { JobAnswer, SetJobAnswer } from '../../../../server/http/contracts/job.ts';
import type {
  PictureSetAnswer,
  PictureSetListAnswer,
  SetPlanAnswer,
} from '../../../../server/http/contracts/picture-set.ts';
import { call, get, getErrorMessage, seg } from '../../../api.ts';
import { findOpenJob, followJob, type JobProgress } from '../../../parts/jobs.ts';
import { pictureJobTexts } from '../../../texts/pictures.ts';

/** A picture set, with its files for this product or the reason why it has none. */
export interface SetRow {
  readonly set: PictureSetAnswer;
  readonly plan: SetPlanAnswer | null;
  readonly problem: string | null;
}

/** A job that makes a picture set. */
export interface SetJob extends JobProgress {
  readonly set: string;
  /** Files that existed before the job. */
  readonly kept: number;
}

/** The picture sets for a product: how many files exist, and making the rest. */
export function createPictureSetsModel(product: string) {
  const path = `/api/products/${seg(product)}`;
  const rows = signal<readonly SetRow[]>([]);
  const job = signal<SetJob | null>(null);
  const problem = signal<string | null>(null);
  /** Code of the set whose files are listed; the files are null while they load. */
  const open = signal<string | null>(null);
  const files = signal<SetPlanAnswer['files'] | null>(null);
  let unfollow = () => {};
  let latest = 0;

  /** Reloads the sets. Of several loads in progress, the latest one wins. */
  async function load(): Promise<void> {
    const attempt = ++latest;
    try {
      const { sets } = await get<PictureSetListAnswer>('/api/picture-sets');
      const loaded = await Promise.all(sets.map(loadPlan));
      if (attempt !== latest) return;
      rows.value = loaded;
      problem.value = null;
    } catch (error) {
      if (attempt === latest) problem.value = getErrorMessage(error);
    }
    if (open.value !== null) await loadFiles(open.value);
  }

  async function loadPlan(set: PictureSetAnswer): Promise<SetRow> {
    try {
      return { set, plan: await get<SetPlanAnswer>(`${path}/picture-sets/${seg(set.code)}?files=0`), problem: null };
    } catch (error) {
      return { set, plan: null, problem: getErrorMessage(error) };
    }
  }

  async function loadFiles(code: string): Promise<void> {
    try {
      const { files: found } = await get<SetPlanAnswer>(`${path}/picture-sets/${seg(code)}`);
      if (open.value === code) files.value = found ?? [];
    } catch (error) {
      if (open.value === code) problem.value = getErrorMessage(error);
    }
  }

  async function make(code: string): Promise<void> {
    problem.value = null;
    try {
      follow((await call<SetJobAnswer>('POST', `${path}/picture-sets/${seg(code)}`, { json: {} })).data);
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  /** Follows a job that still runs: jobs continue when a page closes. */
  async function find(): Promise<void> {
    if (job.value) return;
    try {
      const open = await findOpenJob(`product=${seg(product)}`, 'picture-set');
      if (open && !job.value) follow(open);
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  function follow({ request, ...started }: JobAnswer): void {
    close();
    const { set, kept } = request as { readonly set: { readonly code: string }; readonly kept: number };
    job.value = { ...started, set: set.code, kept };
    unfollow = followJob(started.id, {
      onEvent({ arrived: _, ...progress }) {
        job.value = { ...progress, set: set.code, kept };
      },
      onEnd() {
        close();
        void load();
      },
      onConnectionLost() {
        problem.value = pictureJobTexts.connectionLost;
      },
    });
  }

  async function cancel(): Promise<void> {
    if (!job.value) return;
    try {
      await call('DELETE', `/api/jobs/${seg(job.value.id)}`);
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  function close(): void {
    unfollow();
    unfollow = () => {};
  }

  function toggle(code: string): void {
    const next = open.value === code ? null : code;
    batch(() => {
      open.value = next;
      files.value = null;
    });
    if (next !== null) void loadFiles(next);
  }

  return { rows, job, problem, open, files, load, find, make, cancel, toggle, close };
}

export type PictureSetsModel = ReturnType<typeof createPictureSetsModel>;
