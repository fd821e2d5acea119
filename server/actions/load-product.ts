import { LRUCache } from 'lru-cache';
import { foldCode } from '../core/codes.ts';
import { checkFinish } from '../core/finish/check-finish.ts';
import type { Article, StoredFinish } from '../core/finish/finish.ts';
import { listSpecificationFindings } from '../core/finish/list-specification-findings.ts';
import { type RecallCodes, type ResolvedFinish, resolveFinish } from '../core/finish/resolve-finish.ts';
import type { Line } from '../core/line/line.ts';
import type { CurrentModel, Stores, TaggedSchedule } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { type Budget, DEFAULT_BUDGET, findBudget } from '../core/product/budgets.ts';
import { mayNeedSeparation } from '../core/product/check-pieces.ts';
import type { Finding } from '../core/product/finding.ts';
import type { Product } from '../core/product/product.ts';
import type { Slot } from '../core/product/slot.ts';
import { fillSlotDefaults } from '../core/product/slot-defaults.ts';
import type { Piece } from '../core/product/survey.ts';
import type { Schedule, Variant } from '../core/schedule/schedule.ts';
import type { Context } from './context.ts';
import { recallColourMaps } from './recall-maps.ts';
import { refreshSurvey } from './refresh-survey.ts';

/** A product with everything a decision about it needs. */
export interface LoadedProduct {
  readonly product: Product;
  readonly line: Line | null;
  readonly model: CurrentModel | null;
  /** Pieces of the model, where readiness needs them; see `mayNeedSeparation`. */
  readonly pieces: readonly Piece[];
  readonly budget: Budget;
  /** Settled: what nobody has said of them follows from the model. */
  readonly slots: readonly Slot[];
  readonly schedule: TaggedSchedule | null;
  readonly finishes: FinishLibrary;
}

export interface FinishLibrary {
  /** In the order they were first stored; the same array until something changes. */
  readonly finishes: readonly StoredFinish[];
  /** By folded code. */
  readonly byCode: ReadonlyMap<string, StoredFinish>;
  /** By folded code. */
  readonly articles: ReadonlyMap<string, Article>;
  resolve(code: string): ResolvedFinish;
  /** What its colour maps are levelled by. */
  readonly recallCodes: RecallCodes;
  /** How far it is from what was specified, and whether it could be of this world. */
  check(code: string): readonly Finding[];
}

/** @throws Problem `unknown-product` */
export async function getProduct(context: Context, code: string): Promise<Product> {
  const product = await context.stores.getProduct(code);
  if (product) return product;
  throw new Problem('unknown-product', {
    detail: `There is no product with the code “${code.slice(0, 80)}”. GET /api/products lists them.`,
    received: code.slice(0, 80),
  });
}

/** @throws Problem `unknown-product` */
export async function loadProduct(context: Context, code: string): Promise<LoadedProduct> {
  const product = await getProduct(context, code);
  const { stores } = context;
  const [line, stored, slots, schedule, finishes, budgets] = await Promise.all([
    product.line === null ? null : stores.getLine(product.line),
    stores.getModel(code),
    stores.listSlots(code),
    stores.getSchedule(code),
    loadFinishes(context),
    stores.listBudgets(),
  ]);
  const model = stored && { ...stored, ...(await refreshSurvey(context, code, stored)) };
  // groups of pieces are proposed where one material covers several; other products do without the list
  const pieces = model && mayNeedSeparation(model) ? await recallPieces(context, code, model) : [];
  const budget = findBudget(product.budget, budgets) ?? findBudget(DEFAULT_BUDGET)!;
  return {
    product,
    line,
    model,
    pieces,
    slots: fillSlotDefaults(slots, model?.survey ?? null),
    schedule,
    finishes,
    budget,
  };
}

/** Lists of pieces by revision: a long one takes a while to read, and other results are kept by list. */
const recalled = new WeakMap<Stores, LRUCache<string, readonly Piece[]>>();
const RECALLED = 8;

async function recallPieces({ stores }: Context, code: string, { revision, sha256 }: CurrentModel) {
  const lists = recalled.get(stores) ?? new LRUCache<string, readonly Piece[]>({ max: RECALLED });
  recalled.set(stores, lists);
  const key = `${foldCode(code)} ${revision} ${sha256}`;
  const pieces = lists.get(key) ?? (await stores.listPieces(code, revision));
  lists.set(key, pieces);
  return pieces;
}

/** Keys of slots that the schedule makes choices in: they are kept whatever a model lacks. */
export function listSlotsInUse({ schedule }: Pick<LoadedProduct, 'schedule'>): Set<string> {
  return new Set(schedule?.schedule.variants.flatMap((variant) => Object.keys(variant.choices)) ?? []);
}

/** @throws Problem `unknown-variant`, also where there is no schedule */
export function needVariant({ product, schedule }: Pick<LoadedProduct, 'product' | 'schedule'>, code: string): Variant {
  const variant = schedule?.schedule.variants.find((candidate) => foldCode(candidate.code) === foldCode(code));
  if (variant) return variant;
  throw unknownVariant(product, code);
}

export function unknownVariant({ code: product }: Product, code: string): Problem {
  return new Problem('unknown-variant', {
    detail: `The schedule of ${product} has no variant “${code.slice(0, 80)}”.`,
    received: code.slice(0, 80),
  });
}

/** @throws Problem `no-model` */
export function requireModel(loaded: LoadedProduct): CurrentModel {
  if (loaded.model) return loaded.model;
  throw new Problem('no-model', {
    detail: `${loaded.product.code} has no model yet. PUT one to /api/products/${loaded.product.code}/model.`,
  });
}

/** @throws Problem `no-schedule` */
export function needSchedule(loaded: LoadedProduct): Schedule {
  const schedule = loaded.schedule?.schedule;
  if (schedule && schedule.variants.length > 0) return schedule;
  throw new Problem('no-schedule', {
    detail: `${loaded.product.code} has no variants yet. PUT its schedule, or expand it from the options.`,
  });
}

/** What finishes are loaded with: their colour maps are measured where that was not done yet. */
export type ForFinishes = Pick<Context, 'stores' | 'files' | 'imaging'>;

/**
 * Libraries by the list they were made of: resolving a colour costs more than finding that it was resolved before. One with
 * a map that could not be read is made again when that map is tried again (`until`, ms as of `Date.now`).
 */
const libraries = new WeakMap<
  readonly StoredFinish[],
  { articles: readonly Article[]; until: number; library: FinishLibrary }
>();

export async function loadFinishes(context: ForFinishes): Promise<FinishLibrary> {
  const { stores } = context;
  const [finishes, articles] = await Promise.all([stores.listFinishes(), stores.listArticles()]);
  const known = libraries.get(finishes);
  if (known?.articles === articles && Date.now() < known.until) return known.library;
  const { codes, until } = await recallColourMaps(context, finishes, articles);
  const library = makeLibrary(finishes, articles, codes);
  libraries.set(finishes, { articles, until, library });
  return library;
}

function makeLibrary(
  finishes: readonly StoredFinish[],
  articles: readonly Article[],
  recallCodes: RecallCodes,
): FinishLibrary {
  const byCode = new Map(finishes.map((finish) => [foldCode(finish.finish), finish]));
  const byArticle = new Map(articles.map((article) => [foldCode(article.article), article]));
  const resolved = new Map<string, { finish: StoredFinish; article: Article | null; resolved: ResolvedFinish }>();
  const look = (code: string) => {
    const key = foldCode(code);
    const known = resolved.get(key);
    if (known) return known;
    const finish = byCode.get(key);
    if (!finish) throw unknownFinish(code);
    const article = finish.article ? (byArticle.get(foldCode(finish.article)) ?? null) : null;
    const result = { finish, article, resolved: resolveFinish(finish, article, recallCodes) };
    resolved.set(key, result);
    return result;
  };
  return {
    finishes,
    byCode,
    articles: byArticle,
    resolve: (code) => look(code).resolved,
    recallCodes,
    check(code) {
      const { finish, article, resolved } = look(code);
      return [...listSpecificationFindings(resolved), ...checkFinish(finish, resolved, article)];
    },
  };
}

export function unknownArticle(code: string): Problem {
  return new Problem('not-found', {
    detail: `There is no article “${code.slice(0, 80)}”. GET /api/articles lists them.`,
    received: code.slice(0, 80),
  });
}

export function unknownFinish(code: string): Problem {
  return new Problem('unknown-finish-code', {
    detail: `There is no finish with the code “${code.slice(0, 80)}”. GET /api/finishes lists them.`,
    received: code.slice(0, 80),
  });
}
