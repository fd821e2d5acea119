import { batch, computed, signal } from '@preact/signals';
import type { Repair, RepairReport } from '../../../../server/core/repair/repair.ts';
import type { ModelAnswer, PreparationAnswer } from '../../../../server/http/contracts/model.ts';
import { call, type Reply, seg } from '../../../api.ts';
import { createChanges } from '../../../parts/conflict.tsx';
import { benchTexts } from '../../../texts/product-bench.ts';
import { createHistory, type History } from '../bench/history.ts';

const texts = benchTexts.steps;

/** Edits of pages that were left before they were saved. They return with the page. */
const left = new Map<string, { readonly draft: readonly Repair[]; readonly tag: string | null }>();

/**
 * The preparation of a product: the saved steps, the draft, and the outcome of each step.
 * @param history takes each edit and each save, to be undone
 */
export function createPreparationModel(
  product: string,
  onReplayed: () => Promise<void>,
  history: Pick<History, 'add'> = createHistory(),
) {
  const path = `/api/products/${seg(product)}/preparation`;
  const saved = signal<readonly Repair[]>([]);
  const earlier = left.get(product);
  left.delete(product);
  const draft = signal<readonly Repair[]>(earlier?.draft ?? []);
  /** The steps that made the current revision. */
  const made = signal<readonly Repair[]>([]);
  const reports = signal<readonly RepairReport[]>([]);
  const busy = signal<'save' | 'replay' | null>(null);
  /** The result of applying the preparation again. */
  const replayed = signal<ModelAnswer | null>(null);

  const changed = computed(() => JSON.stringify(saved.value) !== JSON.stringify(draft.value));
  /** Whether the current revision was made with other steps than the saved ones. */
  const differs = computed(() => JSON.stringify(saved.value) !== JSON.stringify(made.value));

  /** The tag of the steps that the draft began with. */
  let tag: string | null = earlier?.tag ?? null;
  const changes = createChanges(async () => applyAnswer(await call<PreparationAnswer>('GET', path), false));

  function applyAnswer({ data: answer, etag }: Reply<PreparationAnswer>, keepDraft: boolean): void {
    if (!keepDraft) tag = etag;
    batch(() => {
      saved.value = answer.steps;
      made.value = answer.made;
      reports.value = answer.reports;
      if (!keepDraft) draft.value = answer.steps;
    });
  }

  let loaded = false;

  /** Reloads the preparation; unsaved edits stay. */
  async function load(): Promise<void> {
    applyAnswer(await call<PreparationAnswer>('GET', path), loaded ? changed.value : earlier !== undefined);
    loaded = true;
  }

  function close(): void {
    if (loaded && changed.value) left.set(product, { draft: draft.value, tag });
  }

  async function run(kind: 'save' | 'replay', task: (overwrite: boolean) => Promise<void>): Promise<void> {
    batch(() => {
      busy.value = kind;
      replayed.value = null;
    });
    await changes.attempt(task);
    busy.value = null;
  }

  function edit(next: readonly Repair[]): void {
    const before = draft.value;
    const show = (steps: readonly Repair[]) => () => {
      draft.value = steps;
    };
    show(next)();
    history.add({ label: texts.editPreparation, undo: show(before), redo: show(next) });
  }

  const move = (at: number, by: number) => edit(moveItem(draft.value, at, by));

  const remove = (at: number) => edit(draft.value.toSpliced(at, 1));

  const discard = () => {
    edit(saved.value);
    void changes.reload();
  };

  const save = () =>
    run('save', async (overwrite) => {
      const [before, after] = [saved.value, draft.value];
      const put = async (steps: readonly Repair[], ifMatch: string | null | undefined) =>
        applyAnswer(await call<PreparationAnswer>('PUT', path, { json: { steps }, ifMatch }), false);
      await put(after, overwrite ? undefined : tag);
      history.add({ label: texts.savePreparation, undo: () => put(before, tag), redo: () => put(after, tag) });
    });

  /** Applies the saved steps to the received model. The result becomes the current revision. */
  const replay = () =>
    run('replay', async () => {
      const { data } = await call<ModelAnswer>('POST', `${path}/replay`);
      await onReplayed();
      replayed.value = data;
    });

  return {
    draft,
    reports,
    busy,
    changes,
    replayed,
    changed,
    differs,
    load,
    move,
    remove,
    discard,
    save,
    replay,
    close,
  };
}

/** Moves an item of a list by a number of places, at most to its end. */
export function moveItem<T>(items: readonly T[], at: number, by: number): T[] {
  const to = Math.max(0, Math.min(items.length - 1, at + by));
  const item = items[at];
  if (item === undefined || to === at) return [...items];
  return items.toSpliced(at, 1).toSpliced(to, 0, item);
}
