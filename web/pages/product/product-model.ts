import { batch, computed, effect, signal } from '@preact/signals';
import { foldCode } from '../../../server/core/codes.ts';
import type { Article } from '../../../server/core/finish/finish.ts';
import type { Line } from '../../../server/core/line/line.ts';
import type { ShotView } from '../../../server/core/picture/picture.ts';
import type { Budget } from '../../../server/core/product/budgets.ts';
import type { Finding } from '../../../server/core/product/finding.ts';
import type { Survey } from '../../../server/core/product/survey.ts';
import type { ReadinessAnswer } from '../../../server/http/contracts/finding.ts';
import type { ArticleListAnswer, FinishAnswer, FinishListAnswer } from '../../../server/http/contracts/finish.ts';
import type { LineListAnswer } from '../../../server/http/contracts/line.ts';
import type {
  BudgetListAnswer,
  ProductAnswer,
  SlotAnswer,
  SlotListAnswer,
} from '../../../server/http/contracts/product.ts';
import { call, get, getErrorMessage, seg } from '../../api.ts';
import { dropCarriedStep, listCarriedSteps } from '../../parts/carried-steps.ts';
import { createChanges } from '../../parts/conflict.tsx';
import { createPictureJobModel } from '../../parts/picture-job-model.ts';
import { benchTexts } from '../../texts/product-bench.ts';
import { viewTexts } from '../../texts/product-view.ts';
import { createHistory } from './bench/history.ts';
import {
  labelProductChange,
  labelSlotChange,
  type ProductChange,
  revertProduct,
  revertSlot,
  type SlotChange,
} from './bench/undo-steps.ts';
import { createDeliveriesModel } from './deliveries/deliveries-model.ts';
import { createPictureSetsModel } from './pictures/picture-sets-model.ts';
import { createPiecesModel } from './pieces/pieces-model.ts';
import { createPreparationModel } from './preparation/preparation-model.ts';
import { createRepairsModel } from './readiness/repairs-model.ts';
import { createRevisionsModel } from './revisions/revisions-model.ts';
import { createChoicesModel } from './schedule/choices-model.ts';
import { createGridModel } from './schedule/grid/grid-model.ts';
import type { Row } from './schedule/schedule-draft.ts';
import { createScheduleModel } from './schedule/schedule-model.ts';
import { createViewModel } from './view/view-model.ts';

/** The state of a product page. Its sections have models of their own. */
export function createProductModel(code: string) {
  const path = `/api/products/${seg(code)}`;
  const product = signal<ProductAnswer | null>(null);
  const survey = signal<Survey | null>(null);
  const findings = signal<readonly Finding[]>([]);
  const slots = signal<readonly SlotAnswer[]>([]);
  const lines = signal<readonly Line[]>([]);
  const budgets = signal<readonly Budget[]>([]);
  const finishes = signal<ReadonlyMap<string, FinishAnswer>>(new Map());
  const articles = signal<readonly Article[]>([]);
  const problem = signal<string | null>(null);
  /** Increases whenever pictures may have changed. */
  const version = signal(0);

  const history = createHistory();
  // what was done to the product on the page of its line can be undone here, too
  for (const step of listCarriedSteps(code)) {
    const turn = (way: 'undo' | 'redo') => async () => {
      dropCarriedStep(step);
      try {
        await step[way]();
      } finally {
        await load();
      }
    };
    history.add({ label: step.label, undo: turn('undo'), redo: turn('redo') });
  }
  const onSaved = async () => {
    await refresh();
    // with very many options, the file of the view has the finishes of the saved schedule only
    await view.load();
  };
  const schedule = createScheduleModel(code, () => void onSaved(), history);
  const deliveries = createDeliveriesModel(code);
  const pictures = createPictureJobModel({ path, query: `product=${seg(code)}` });
  const sets = createPictureSetsModel(code);
  const variants = computed(() => schedule.draft.value.rows);
  const view = createViewModel({ product: code, slots, variants });
  const repairs = createRepairsModel(
    code,
    () => loadRevision(benchTexts.steps.repairs),
    () => load(),
  );
  const pieces = createPiecesModel(code, repairs, view.picked);
  const preparation = createPreparationModel(code, () => loadRevision(() => benchTexts.steps.replay), history);
  const revisions = createRevisionsModel(code, () => loadRevision(benchTexts.steps.useRevision));
  /** Messages about one revision; another revision clears them. */
  const messages = [repairs.made, repairs.imported, pieces.message, preparation.replayed, revisions.message];

  const line = computed(() => lines.value.find((candidate) => candidate.line === product.value?.line) ?? null);
  /** Slots that are columns of the schedule. */
  const columns = computed(() => slots.value.filter((slot) => !slot.fixed && slot.primitives > 0));

  const choices = createChoicesModel({ path, line, columns, finishes, articles });
  const grid = createGridModel({ path, schedule, slots: columns, finishes, choices });

  const stopShowing = effect(() => {
    const row = schedule.selectedRow.value;
    if (!product.value) return;
    const { name } = product.value;
    view.show(schedule.shownChoices.value, row ? viewTexts.productInVariant(name, row.name) : name);
  });

  let refreshes = 0;
  /** The tag of the product as it is shown. */
  let tag: string | null = null;
  const changes = createChanges(() => refresh());

  async function attempt(work: () => Promise<void>): Promise<boolean> {
    try {
      await work();
      problem.value = null;
      return true;
    } catch (error) {
      problem.value = getErrorMessage(error);
      return false;
    }
  }

  /**
   * Reloads everything that a change of slots, schedule or model may affect, except the draft of the schedule.
   * @param onKnown runs beside what takes longest
   */
  async function refresh(onKnown: () => Promise<void> = async () => undefined): Promise<void> {
    const number = ++refreshes;
    await attempt(async () => {
      const { data: next, etag } = await call<ProductAnswer>('GET', path);
      const [slotList, readiness] = next.model
        ? await Promise.all([get<SlotListAnswer>(`${path}/slots`), get<ReadinessAnswer>(`${path}/readiness`)])
        : [null, null];
      // a later call has newer answers
      if (number !== refreshes) return;
      tag = etag;
      if (!slotList || !readiness) {
        product.value = next;
        return;
      }
      batch(() => {
        if (next.model?.revision !== product.value?.model?.revision) {
          for (const message of messages) message.value = null;
          repairs.dropTurns();
        }
        product.value = next;
        slots.value = slotList.slots;
        findings.value = readiness.findings;
        repairs.update(readiness);
        version.value++;
      });
      // these take longest with many variants, and nothing waits for them
      await Promise.all([onKnown(), choices.count(), deliveries.loadPending()]);
    });
  }

  async function load(): Promise<void> {
    view.prepare();
    await attempt(async () => {
      const [lineList, finishList, budgetList, articleList] = await Promise.all([
        get<LineListAnswer>('/api/lines'),
        get<FinishListAnswer>('/api/finishes'),
        get<BudgetListAnswer>('/api/budgets'),
        get<ArticleListAnswer>('/api/articles'),
        refresh(startView),
        deliveries.list.load(),
      ]);
      lines.value = lineList.lines;
      budgets.value = budgetList.budgets;
      articles.value = articleList.articles;
      finishes.value = new Map(finishList.finishes.map((finish) => [foldCode(finish.finish), finish]));
    });
    if (!product.value?.model) return;
    await attempt(async () => {
      await Promise.all([preparation.load(), revisions.load(), pieces.reload()]);
    });
  }

  /** The view takes longest, so it begins before the rest is there. */
  async function startView(): Promise<void> {
    if (!product.value?.model) return;
    void view.load();
    const measuring = attempt(async () => {
      survey.value = await get<Survey>(`${path}/survey`);
    });
    if (!schedule.changes.value.any) await schedule.load();
    await measuring;
  }

  /** Shows a revision that has just become current. The one before it can be used again by undoing. */
  async function loadRevision(label: (revision: number) => string): Promise<void> {
    const before = product.value?.model?.revision;
    await load();
    const after = product.value?.model?.revision;
    if (before === undefined || after === undefined || before === after) return;
    const use = async (revision: number) => {
      await call('POST', `${path}/revisions/${revision}/use`);
      await load();
    };
    history.add({ label: label(after), undo: () => use(before), redo: () => use(after) });
  }

  async function sendChange(address: string, json: object, ifMatch: string | undefined): Promise<void> {
    await call('PATCH', address, { json, ifMatch });
    await refresh();
    await view.load();
  }

  const change = (json: ProductChange) => {
    const before = product.value;
    const send = (next: ProductChange, overwrite = false) =>
      sendChange(path, next, overwrite ? undefined : (tag ?? undefined));
    return changes.attempt(async (overwrite) => {
      await send(json, overwrite);
      if (!before) return;
      const back = revertProduct(before, json);
      history.add({ label: labelProductChange(json), undo: () => send(back), redo: () => send(json) });
    });
  };

  const changeSlot = (slot: string, json: SlotChange) => {
    const findSlot = () => slots.value.find((known) => known.slot === slot);
    const before = findSlot();
    const send = (next: SlotChange, overwrite = false, loaded = findSlot()) =>
      sendChange(`${path}/slots/${seg(slot)}`, next, overwrite || !loaded ? undefined : `"${loaded.tag}"`);
    return changes.attempt(async (overwrite) => {
      await send(json, overwrite, before);
      if (!before) return;
      const back = revertSlot(before, json);
      history.add({ label: labelSlotChange(before, json), undo: () => send(back), redo: () => send(json) });
    });
  };

  /** Whether the page holds edits that are not saved. */
  const unsaved = computed(() => schedule.changes.value.any || preparation.changed.value);

  async function save(): Promise<void> {
    if (preparation.changed.value) await preparation.save();
    if (schedule.changes.value.any) await schedule.save();
  }

  const remove = (onRemoved: () => void) =>
    changes.attempt(async (overwrite) => {
      await call('DELETE', path, { ifMatch: overwrite ? undefined : (tag ?? undefined) });
      onRemoved();
    });

  function getFinish(finish: string | undefined): FinishAnswer | null {
    return finish === undefined ? null : (finishes.value.get(foldCode(finish)) ?? null);
  }

  /**
   * Address of the still picture of a variant, or of the original model without one. A saved variant has a permanent
   * address; an edited one is addressed by its choices.
   */
  function getPictureAddress(row: Row | null, view: ShotView = 'three-quarter'): string {
    const query = new URLSearchParams();
    if (view !== 'three-quarter') query.set('view', view);
    const isSaved = row !== null && schedule.changes.value.rows.get(row.key) === 'saved';
    if (!isSaved)
      for (const [slot, finish] of Object.entries(row?.choices ?? {})) query.append('choice', `${slot}:${finish}`);
    const picture = isSaved ? `pictures/${seg(row.code)}.webp` : 'picture.webp';
    return `${path}/${picture}${query.size === 0 ? '' : `?${query}`}`;
  }

  function close(): void {
    stopShowing();
    grid.close();
    schedule.close();
    preparation.close();
    view.close();
    pictures.close();
    sets.close();
  }

  return {
    code,
    path,
    product,
    survey,
    findings,
    slots,
    lines,
    line,
    budgets,
    columns,
    finishes,
    problem,
    changes,
    history,
    unsaved,
    save,
    version,
    schedule,
    choices,
    grid,
    deliveries,
    pictures,
    sets,
    view,
    repairs,
    pieces,
    preparation,
    revisions,
    load,
    change,
    changeSlot,
    remove,
    getFinish,
    getPictureAddress,
    close,
  };
}

export type ProductModel = ReturnType<typeof createProductModel>;
