import { batch, computed, signal } from '@preact/signals';
import type { Repair, RepairReport } from '../../../../server/core/repair/repair.ts';
import type { ModelAnswer, PreparationAnswer } from '../../../../server/http/contracts/model.ts';
import { call, get, getErrorMessage, seg } from '../../../api.ts';
import { moveItem, removeItem } from './move-item.ts';

/** The preparation of a product: the steps as they are saved, as they are edited, and what came of them. */
export function createPreparationModel(product: string, onReplayed: () => Promise<void>) {
  const path = `/api/products/${seg(product)}/preparation`;
  const saved = signal<readonly Repair[]>([]);
  const draft = signal<readonly Repair[]>([]);
  /** Steps the current revision was made by. */
  const made = signal<readonly Repair[]>([]);
  const reports = signal<readonly RepairReport[]>([]);
  const busy = signal<'save' | 'replay' | null>(null);
  const trouble = signal<string | null>(null);
  /** What every step did when the preparation was made again. */
  const replayed = signal<ModelAnswer | null>(null);

  const changed = computed(() => JSON.stringify(saved.value) !== JSON.stringify(draft.value));
  /** Whether the current revision was made by other steps than those that are saved. */
  const differs = computed(() => JSON.stringify(saved.value) !== JSON.stringify(made.value));

  function take(answer: PreparationAnswer, keepDraft: boolean): void {
    batch(() => {
      saved.value = answer.steps;
      made.value = answer.made;
      reports.value = answer.reports;
      if (!keepDraft) draft.value = answer.steps;
    });
  }

  /** An edit that is under way stays when the rest is read again. */
  async function load(): Promise<void> {
    take(await get<PreparationAnswer>(path), changed.value);
  }

  async function run(kind: 'save' | 'replay', task: () => Promise<void>): Promise<void> {
    batch(() => {
      busy.value = kind;
      trouble.value = null;
      replayed.value = null;
    });
    try {
      await task();
    } catch (error) {
      trouble.value = getErrorMessage(error);
    } finally {
      busy.value = null;
    }
  }

  const move = (at: number, by: number) => {
    draft.value = moveItem(draft.value, at, by);
  };

  const remove = (at: number) => {
    draft.value = removeItem(draft.value, at);
  };

  const discard = () => {
    draft.value = saved.value;
  };

  const save = () =>
    run('save', async () => {
      take((await call<PreparationAnswer>('PUT', path, { json: { steps: draft.value } })).data, false);
    });

  /** Makes the saved steps on the model as it was received; the result becomes the current revision. */
  const replay = () =>
    run('replay', async () => {
      const { data } = await call<ModelAnswer>('POST', `${path}/replay`);
      await onReplayed();
      replayed.value = data;
    });

  return { draft, reports, busy, trouble, replayed, changed, differs, load, move, remove, discard, save, replay };
}

export type PreparationModel = ReturnType<typeof createPreparationModel>;
