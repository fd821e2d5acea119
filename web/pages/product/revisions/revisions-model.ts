import { batch, signal } from '@preact/signals';
import type { ModelAnswer, RevisionListAnswer } from '../../../../server/http/contracts/model.ts';
import { call, get, getErrorMessage, seg } from '../../../api.ts';
import { uploadModel } from '../../../upload-model.ts';

/** The revisions of a product's model: those there are, and one that has just arrived and waits to be taken. */
export function createRevisionsModel(product: string, onChanged: () => Promise<void>) {
  const path = `/api/products/${seg(product)}`;
  const list = signal<RevisionListAnswer['revisions']>([]);
  const trouble = signal<string | null>(null);
  const busy = signal(false);
  /** Share of a model that was sent, 0–1; null when none is under way. */
  const sending = signal<number | null>(null);
  /** A newer export that is held back until somebody has looked at what it changes. */
  const waiting = signal<ModelAnswer | null>(null);
  const said = signal<string | null>(null);

  async function load(): Promise<void> {
    list.value = (await get<RevisionListAnswer>(`${path}/revisions`)).revisions;
  }

  async function attempt(work: () => Promise<void>): Promise<void> {
    batch(() => {
      trouble.value = null;
      said.value = null;
    });
    try {
      await work();
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  /** Sends a model. The first becomes current by itself; a later one waits for a person's word. */
  async function send(file: File, isFirst: boolean): Promise<void> {
    if (sending.value !== null) return;
    waiting.value = null;
    sending.value = 0;
    await attempt(async () => {
      try {
        const answer = await uploadModel(
          product,
          file,
          (share) => {
            sending.value = share;
          },
          { hold: !isFirst },
        );
        if (answer.current) await onChanged();
        else {
          waiting.value = answer;
          await load();
        }
      } finally {
        sending.value = null;
      }
    });
  }

  /** Makes a revision current: an earlier one, or the one that waits. */
  async function use(revision: number): Promise<void> {
    busy.value = true;
    await attempt(async () => {
      try {
        await call('POST', `${path}/revisions/${revision}/use`);
        if (waiting.value?.revision === revision) waiting.value = null;
        await onChanged();
        said.value = `Revision ${revision} is the current one now.`;
      } finally {
        busy.value = false;
      }
    });
  }

  function leave(): void {
    const revision = waiting.value?.revision;
    batch(() => {
      waiting.value = null;
      said.value = `Nothing is changed. Revision ${revision} stays in the list, and can be taken later.`;
    });
  }

  return { list, trouble, busy, sending, waiting, said, load, send, use, leave };
}

export type RevisionsModel = ReturnType<typeof createRevisionsModel>;
