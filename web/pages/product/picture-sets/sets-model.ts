import { batch, signal } from '@preact/signals';
import type { JobAnswer, SetJobAnswer } from '../../../../server/http/contracts/job.ts';
import type {
  PictureSetAnswer,
  PictureSetListAnswer,
  SetPlanAnswer,
} from '../../../../server/http/contracts/picture-set.ts';
import { call, get, getErrorMessage, seg } from '../../../api.ts';
import { findOpenJob, followJob, type JobProgress } from '../../../parts/follow-job.ts';

/** A set, and what it comes to for the product; a plan that is refused says why. */
export interface SetRow {
  readonly set: PictureSetAnswer;
  readonly plan: SetPlanAnswer | null;
  readonly trouble: string | null;
}

/** The job that makes a set. */
export interface SetJob extends JobProgress {
  readonly set: string;
  /** Files that were made before it. */
  readonly kept: number;
}

/** Picture sets of a product: how much of each is made, and making the rest. */
export function createSetsModel(product: string) {
  const path = `/api/products/${seg(product)}`;
  const rows = signal<readonly SetRow[]>([]);
  const job = signal<SetJob | null>(null);
  const trouble = signal<string | null>(null);
  /** Code of the set whose files are listed, and those; null while they are asked for. */
  const open = signal<string | null>(null);
  const files = signal<SetPlanAnswer['files'] | null>(null);
  let unfollow = () => {};
  let latest = 0;

  /** Looks again what is made; of several looks under way the last one counts. */
  async function load(): Promise<void> {
    const turn = ++latest;
    try {
      const { sets } = await get<PictureSetListAnswer>('/api/picture-sets');
      const looked = await Promise.all(sets.map(look));
      if (turn !== latest) return;
      rows.value = looked;
      trouble.value = null;
    } catch (error) {
      if (turn === latest) trouble.value = getErrorMessage(error);
    }
    if (open.value !== null) await list(open.value);
  }

  async function look(set: PictureSetAnswer): Promise<SetRow> {
    try {
      return { set, plan: await get<SetPlanAnswer>(`${path}/picture-sets/${seg(set.code)}?files=0`), trouble: null };
    } catch (error) {
      return { set, plan: null, trouble: getErrorMessage(error) };
    }
  }

  async function list(code: string): Promise<void> {
    try {
      const { files: found } = await get<SetPlanAnswer>(`${path}/picture-sets/${seg(code)}`);
      if (open.value === code) files.value = found ?? [];
    } catch (error) {
      if (open.value === code) trouble.value = getErrorMessage(error);
    }
  }

  async function make(code: string): Promise<void> {
    trouble.value = null;
    try {
      follow((await call<SetJobAnswer>('POST', `${path}/picture-sets/${seg(code)}`, { json: {} })).data);
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  /** Takes up a job that still goes on: it does not stop when a page is left. */
  async function find(): Promise<void> {
    if (job.value) return;
    try {
      const open = await findOpenJob(`product=${seg(product)}`, 'picture-set');
      if (open && !job.value) follow(open);
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  function follow({ request, ...told }: JobAnswer): void {
    close();
    const { set, kept } = request as { readonly set: { readonly code: string }; readonly kept: number };
    job.value = { ...told, set: set.code, kept };
    unfollow = followJob(told.id, {
      take({ arrived: _, ...progress }) {
        job.value = { ...progress, set: set.code, kept };
      },
      end() {
        close();
        void load();
      },
      lose() {
        trouble.value = 'The progress cannot be followed any more; the files go on. Load the page again to see them.';
      },
    });
  }

  async function cancel(): Promise<void> {
    if (!job.value) return;
    try {
      await call('DELETE', `/api/jobs/${seg(job.value.id)}`);
    } catch (error) {
      trouble.value = getErrorMessage(error);
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
    if (next !== null) void list(next);
  }

  return { rows, job, trouble, open, files, load, find, make, cancel, toggle, close };
}

export type SetsModel = ReturnType<typeof createSetsModel>;
