import { computed, signal } from '@preact/signals';
import { foldCode } from '../../../server/core/codes.ts';
import type { Article } from '../../../server/core/finish/finish.ts';
import type { Line } from '../../../server/core/line/line.ts';
import type { RangeStandingsAnswer } from '../../../server/http/contracts/approval.ts';
import type { ArticleListAnswer, FinishAnswer, FinishListAnswer } from '../../../server/http/contracts/finish.ts';
import type { ProductAnswer } from '../../../server/http/contracts/product.ts';
import { call, get, getErrorMessage, seg } from '../../api.ts';
import { createChanges } from '../../parts/conflict.tsx';
import { listProducts } from '../../parts/list-products.ts';
import { createPictureJobModel } from '../../parts/picture-job-model.ts';
import type { LineChange } from './line-changes.ts';
import { createLineWrites, describeSaved } from './line-writes.ts';
import { createEffectsModel, createRulesModel } from './rules/rules-model.ts';

/** The state of a line's page. Every change is saved at once; a refused change is undone and explained. */
export function createLineModel(code: string) {
  const path = `/api/lines/${seg(code)}`;
  const line = signal<Line | null>(null);
  const products = signal<readonly ProductAnswer[]>([]);
  const finishes = signal<readonly FinishAnswer[]>([]);
  const articles = signal<readonly Article[]>([]);
  /** Element id of the open row of the range. */
  const open = signal<string | null>(null);
  const problem = signal<string | null>(null);
  /** The result of the last change, as a sentence. */
  const outcome = signal<string | null>(null);

  /** Where the finishes of the range stand with their approvals, by code. */
  const standings = signal<ReadonlyMap<string, RangeStanding>>(new Map());

  const byCode = computed(() => new Map(finishes.value.map((finish) => [finish.finish, finish])));
  const byFoldedCode = computed(() => new Map(finishes.value.map((finish) => [foldCode(finish.finish), finish])));
  /** Finishes outside the range. */
  const others = computed(() => {
    const known = new Set(line.value?.range.map(({ finish }) => finish));
    return finishes.value.filter(({ finish }) => !known.has(finish));
  });

  const pictures = createPictureJobModel({ path, query: `line=${seg(code)}` });
  const effects = createEffectsModel();
  const writes = createLineWrites(path, line);
  const rules = createRulesModel(writes, line, (meanwhile) => {
    outcome.value = describeSaved(meanwhile);
    void effects.load(products.value);
  });

  async function load(): Promise<void> {
    try {
      const [found, finishList, productList, articleList] = await Promise.all([
        call<Line>('GET', path),
        get<FinishListAnswer>('/api/finishes'),
        listProducts(code),
        get<ArticleListAnswer>('/api/articles'),
        loadStandings(),
      ]);
      articles.value = articleList.articles;
      finishes.value = finishList.finishes;
      products.value = productList;
      writes.receive(found);
      problem.value = null;
      void effects.load(products.value);
    } catch (error) {
      problem.value = getErrorMessage(error);
    }
  }

  async function loadStandings(): Promise<void> {
    const { finishes } = await get<RangeStandingsAnswer>(`${path}/approvals`);
    standings.value = new Map(finishes.map((standing) => [standing.finish, standing]));
  }

  /** Number of edits under way, and other people's changes since the first of them. */
  let waiting = 0;
  let meanwhile: string[] = [];

  async function edit(change: LineChange): Promise<void> {
    if (!line.value) return;
    outcome.value = null;
    waiting++;
    try {
      meanwhile.push(...(await writes.edit(change)));
      problem.value = null;
      // the last edit reports for all of them
      if (waiting === 1) outcome.value = describeSaved(meanwhile);
      void effects.load(products.value);
    } catch (error) {
      problem.value = getErrorMessage(error);
    } finally {
      waiting--;
      if (waiting === 0) meanwhile = [];
    }
  }

  /** The deletion, which may be refused because someone else changed the line. */
  const deletion = createChanges(load);
  const remove = (onRemoved: () => void) =>
    deletion.attempt(async (overwrite) => {
      await writes.decide((ifMatch) => call('DELETE', path, { ifMatch: overwrite ? undefined : ifMatch }));
      onRemoved();
    });

  function nameOf(finish: string): string {
    return byFoldedCode.value.get(foldCode(finish))?.name ?? finish;
  }

  return {
    path,
    line,
    products,
    finishes,
    articles,
    byCode,
    byFoldedCode,
    others,
    standings,
    open,
    writes,
    rules,
    effects,
    pictures,
    problem,
    outcome,
    load,
    loadStandings,
    edit,
    deletion,
    remove,
    nameOf,
  };
}

export type RangeStanding = RangeStandingsAnswer['finishes'][number];
export type LineModel = ReturnType<typeof createLineModel>;
