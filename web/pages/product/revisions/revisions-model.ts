import { batch, signal } from '@preact/signals';
import type { ModelAnswer, RevisionListAnswer } from '../../../../server/http/contracts/model.ts';
import { call, getErrorMessage, seg, uploadModel } from '../../../api.ts';
import { createPagedList } from '../../../parts/paged-list.ts';
import { revisionsTexts } from '../../../texts/product.ts';

/** The revisions of a product's model, and a new one that waits for a decision. */
export function createRevisionsModel(product: string, onChanged: () => Promise<void>) {
  const path = `/api/products/${seg(product)}`;
  const list = createPagedList(`${path}/revisions`, (answer: RevisionListAnswer) => answer.revisions);
  const problem = signal<string | null>(null);
  const busy = signal(false);
  /** Share of the upload, 0–1; null without one. */
  const sending = signal<number | null>(null);
  /** A newer export that is not current until a person has seen its changes. */
  const waiting = signal<ModelAnswer | null>(null);
  /** The result of the last action. */
  const message = signal<string | null>(null);

  async function attempt(work: () => Promise<void>): Promise<void> {
    batch(() => {
      problem.value = null;
      message.value = null;
    });
    try {
      await work();
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  /** Uploads a model. The first one becomes current at once; a later one waits for a decision. */
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
          await list.load();
        }
      } finally {
        sending.value = null;
      }
    });
  }

  /** Makes a revision current. */
  async function use(revision: number): Promise<void> {
    busy.value = true;
    await attempt(async () => {
      try {
        await call('POST', `${path}/revisions/${revision}/use`);
        if (waiting.value?.revision === revision) waiting.value = null;
        await onChanged();
        message.value = revisionsTexts.isCurrent(revision);
      } finally {
        busy.value = false;
      }
    });
  }

  function keepCurrent(): void {
    const revision = waiting.value?.revision;
    if (revision === undefined) return;
    batch(() => {
      waiting.value = null;
      message.value = revisionsTexts.keptCurrent(revision);
    });
  }

  return { list, problem, busy, sending, waiting, message, load: list.load, send, use, keepCurrent };
}
