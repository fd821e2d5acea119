import { foldCode } from '../core/codes.ts';
import type { CurrentModel } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { DEFAULT_BUDGET, findBudget } from '../core/product/budgets.ts';
import { mayNeedSeparation } from '../core/product/check-pieces.ts';
import type { Product } from '../core/product/product.ts';
import { fillSlotDefaults } from '../core/product/slot-defaults.ts';
import type { Piece } from '../core/product/survey.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { loadFinishes } from './load-finishes.ts';
import type { LoadedProduct } from './loaded-product.ts';
import { refreshSurvey } from './refresh-survey.ts';
import { createStoreCache } from './store-cache.ts';

/** @throws Problem `unknown-product` */
export async function getProduct(context: Context, code: string): Promise<Product> {
  const product = await context.stores.getProduct(code);
  if (product) return product;
  throw new Problem('unknown-product', {
    detail: PRODUCT_PROBLEMS['unknown-product'].byCode(code.slice(0, 80)),
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
const recalled = createStoreCache<readonly Piece[]>(8);

async function recallPieces({ stores }: Context, code: string, { revision, sha256 }: CurrentModel) {
  const lists = recalled(stores);
  const key = `${foldCode(code)} ${revision} ${sha256}`;
  const pieces = lists.get(key) ?? (await stores.listPieces(code, revision));
  lists.set(key, pieces);
  return pieces;
}
