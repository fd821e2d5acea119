import { batch, computed, effect, signal } from '@preact/signals';
import { foldCode } from '../../../server/core/codes.ts';
import type { Article } from '../../../server/core/finish/finish.ts';
import type { Line } from '../../../server/core/line/line.ts';
import type { Budget } from '../../../server/core/product/budgets.ts';
import type { Finding } from '../../../server/core/product/finding.ts';
import type { Survey } from '../../../server/core/product/survey.ts';
import type { ReadinessAnswer } from '../../../server/http/contracts/finding.ts';
import type { ArticleListAnswer, FinishAnswer, FinishListAnswer } from '../../../server/http/contracts/finish.ts';
import type { LineListAnswer } from '../../../server/http/contracts/line.ts';
import type { BudgetListAnswer, ProductAnswer } from '../../../server/http/contracts/product.ts';
import type { SlotAnswer, SlotListAnswer } from '../../../server/http/contracts/slot.ts';
import { call, get, getErrorMessage, seg } from '../../api.ts';
import { createPictureJobModel } from '../../parts/picture-job/picture-job-model.ts';
import { createChoicesModel } from './choices/choices-model.ts';
import { createDeliveriesModel } from './deliveries-model.ts';
import { createSetsModel } from './picture-sets/sets-model.ts';
import { createPiecesModel } from './pieces/pieces-model.ts';
import { createPreparationModel } from './preparation/preparation-model.ts';
import { createPreviewModel } from './preview-model.ts';
import { createRepairsModel } from './readiness/repairs-model.ts';
import { createRevisionsModel } from './revisions/revisions-model.ts';
import { createScheduleModel } from './schedule-model.ts';

/** What of a product can be changed by PATCH. */
export type ProductChange = Partial<Pick<ProductAnswer, 'name' | 'line' | 'class' | 'mount' | 'sheet' | 'budget'>>;

/** What of a slot can be changed by PATCH. */
export type SlotChange = Partial<Pick<SlotAnswer, 'label' | 'position' | 'options' | 'fixed'>> & {
  /** Null follows the part. */
  readonly grainDegrees?: number | null;
  readonly keep?: Partial<SlotAnswer['keep']>;
};

/** The state of a product's sheet. Its parts have models of their own. */
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
  const trouble = signal<string | null>(null);
  /** Goes up whenever pictures may have changed. */
  const version = signal(0);

  const schedule = createScheduleModel(code, () => void refresh());
  const deliveries = createDeliveriesModel(code);
  const pictures = createPictureJobModel({ path, query: `product=${seg(code)}` });
  const sets = createSetsModel(code);
  const preview = createPreviewModel(code);
  const repairs = createRepairsModel(code, () => load());
  const pieces = createPiecesModel(code, repairs);
  const preparation = createPreparationModel(code, () => load());
  const revisions = createRevisionsModel(code, () => load());
  /** What was told of one revision is no news of the next. */
  const news = [repairs.made, repairs.taken, pieces.said, preparation.replayed, revisions.said];

  const line = computed(() => lines.value.find((candidate) => candidate.line === product.value?.line) ?? null);
  /** Slots that make a column of the schedule. */
  const columns = computed(() => slots.value.filter((slot) => !slot.fixed && slot.primitives > 0));

  const choices = createChoicesModel({ path, line, columns, finishes, articles });

  const stopShowing = effect(() => {
    const row = schedule.selectedRow.value;
    if (product.value)
      preview.show(row?.choices ?? {}, row ? `${product.value.name}, ${row.name}` : product.value.name);
  });

  async function attempt(work: () => Promise<void>): Promise<boolean> {
    try {
      await work();
      trouble.value = null;
      return true;
    } catch (error) {
      trouble.value = getErrorMessage(error);
      return false;
    }
  }

  /** Everything a change of slots, schedule or model may have changed, but for the draft. */
  async function refresh(): Promise<void> {
    await attempt(async () => {
      const next = await get<ProductAnswer>(path);
      if (!next.model) {
        product.value = next;
        return;
      }
      const [slotList, readiness] = await Promise.all([
        get<SlotListAnswer>(`${path}/slots`),
        get<ReadinessAnswer>(`${path}/readiness`),
        choices.count(),
      ]);
      batch(() => {
        if (next.model?.revision !== product.value?.model?.revision) {
          for (const told of news) told.value = null;
          repairs.startAnew();
        }
        product.value = next;
        slots.value = slotList.slots;
        findings.value = readiness.findings;
        repairs.take(readiness);
        version.value++;
      });
    });
  }

  async function load(): Promise<void> {
    await attempt(async () => {
      const [lineList, finishList, budgetList, articleList] = await Promise.all([
        get<LineListAnswer>('/api/lines'),
        get<FinishListAnswer>('/api/finishes'),
        get<BudgetListAnswer>('/api/budgets'),
        get<ArticleListAnswer>('/api/articles'),
        refresh(),
        deliveries.load(),
      ]);
      lines.value = lineList.lines;
      budgets.value = budgetList.budgets;
      articles.value = articleList.articles;
      finishes.value = new Map(finishList.finishes.map((finish) => [foldCode(finish.finish), finish]));
    });
    if (!product.value?.model) return;
    if (!schedule.changes.value.any) await schedule.load();
    await attempt(async () => {
      const [measured] = await Promise.all([
        get<Survey>(`${path}/survey`),
        preparation.load(),
        revisions.load(),
        pieces.follow(),
      ]);
      survey.value = measured;
    });
    void preview.load();
  }

  const change = (json: ProductChange) =>
    attempt(async () => {
      await call('PATCH', path, { json });
      await refresh();
      await preview.load();
    });

  const changeSlot = (slot: string, json: SlotChange) =>
    attempt(async () => {
      await call('PATCH', `${path}/slots/${seg(slot)}`, { json });
      await refresh();
      await preview.load();
    });

  const remove = () => attempt(async () => void (await call('DELETE', path)));

  function getFinish(finish: string | undefined): FinishAnswer | null {
    return finish === undefined ? null : (finishes.value.get(foldCode(finish)) ?? null);
  }

  function close(): void {
    stopShowing();
    schedule.close();
    preview.close();
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
    trouble,
    version,
    schedule,
    choices,
    deliveries,
    pictures,
    sets,
    preview,
    repairs,
    pieces,
    preparation,
    revisions,
    load,
    change,
    changeSlot,
    remove,
    getFinish,
    close,
  };
}

export type ProductModel = ReturnType<typeof createProductModel>;
