import { LRUCache } from 'lru-cache';
import { foldCode } from '../core/codes.ts';
import type { CurrentModel, Stores } from '../core/ports/stores.ts';
import { Problem, type ProblemCode } from '../core/problems.ts';
import { makeBlankSurvey } from '../core/product/blank-survey.ts';
import { DEFAULT_BUDGET, findBudget } from '../core/product/budgets.ts';
import { mayNeedSeparation } from '../core/product/check-pieces.ts';
import type { Product } from '../core/product/product.ts';
import { fillSlotDefaults } from '../core/product/slot-defaults.ts';
import { type Piece, SURVEY_FORMAT, type Survey } from '../core/product/survey.ts';
import { ignoreStorageFault } from '../core/storage-faults.ts';
import { MODEL_TEXTS } from '../core/texts/answer-texts.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import { createStoreCache, shareInFlight } from './caching.ts';
import type { Context } from './context.ts';
import { listAll, makeFinishLibrary } from './load-finishes.ts';
import type { LoadedProduct } from './loaded-product.ts';

/** @throws Problem `unknown-product` */
export async function getProduct(context: Pick<Context, 'stores'>, code: string): Promise<Product> {
  const product = await context.stores.getProduct(code);
  if (product) return product;
  throw new Problem('unknown-product', {
    detail: PRODUCT_PROBLEMS['unknown-product'].byCode(code.slice(0, 80)),
    received: code.slice(0, 80),
  });
}

/** @throws Problem `unknown-product` */
export async function loadProduct(context: Context, code: string): Promise<LoadedProduct> {
  const { id, product, line, stored, slots, schedule, budgets, lists } = await context.stores.snapshot((at) =>
    readProduct(at, code),
  );
  const finishes = await makeFinishLibrary(context, lists);
  const model = stored && { ...stored, ...(await refreshSurvey(context, code, stored)) };
  // Dyeworks proposes groups of pieces only for a material that covers several; other products do not need the list
  const pieces = model && mayNeedSeparation(model) ? await recallPieces(context, code, model) : [];
  const budget = findBudget(product.budget, budgets) ?? findBudget(DEFAULT_BUDGET)!;
  return {
    id,
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

/** Whether the survey of the model stands in for one that Dyeworks could not make now. */
export function isMeasuredLater({ product, model }: LoadedProduct): boolean {
  return model !== null && unmeasured.has(surveyKey(product.code, model));
}

const surveyKey = (code: string, { revision, sha256 }: Pick<CurrentModel, 'revision' | 'sha256'>) =>
  `survey ${foldCode(code)} ${revision} ${sha256}`;

/** Everything of a product at one moment. @throws Problem `unknown-product` */
async function readProduct(at: Stores, code: string) {
  const product = await getProduct({ stores: at }, code);
  const [identity, line, stored, slots, schedule, budgets, lists] = await Promise.all([
    at.getIdentity(code),
    product.line === null ? null : at.getLine(product.line),
    at.getModel(code),
    at.listSlots(code),
    at.getSchedule(code),
    at.listBudgets(),
    listAll(at),
  ]);
  return { id: identity!.id, product, line, stored, slots, schedule, budgets, lists };
}

/** Estimated memory of a piece in a list. */
const PIECE_BYTES = 500;

/** Lists of pieces by revision. A long one is slow to read, and the core caches results by the identity of the list. */
const recalled = createStoreCache<readonly Piece[]>(64 * 1024 * 1024, (pieces) => pieces.length * PIECE_BYTES);

async function recallPieces({ stores }: Context, code: string, { revision, sha256 }: CurrentModel) {
  const lists = recalled(stores);
  const key = `${foldCode(code)} ${revision} ${sha256}`;
  const pieces = lists.get(key) ?? (await stores.listPieces(code, revision));
  lists.set(key, pieces);
  return pieces;
}

/**
 * Blank surveys of models that could not be measured because of a timeout or a failure. Dyeworks tries again after a minute:
 * the machine may only have been busy.
 */
const unmeasured = new LRUCache<string, Survey>({ max: 1000, ttl: 60_000 });

/** Refusals that say more about the machine than about the model. */
const BUSY: readonly ProblemCode[] = ['model-too-complex', 'model-took-too-long', 'queue-full'];

/**
 * Measures a stored model again, once, if its survey has an older format. A model that Dyeworks now refuses gets a blank
 * survey with the reason, so that its product can still be listed and opened. After a timeout or a failure, the blank survey
 * holds for a minute and is not stored.
 */
export async function refreshSurvey(
  context: Pick<Context, 'files' | 'models' | 'stores'>,
  code: string,
  model: Pick<CurrentModel, 'survey' | 'revision' | 'sha256' | 'bytes'>,
): Promise<{ readonly survey: Survey }> {
  if (model.survey.format === SURVEY_FORMAT) return { survey: model.survey };
  const key = surveyKey(code, model);
  const known = unmeasured.get(key);
  if (known) return { survey: known };
  return shareInFlight(key, async () => {
    try {
      const { survey, pieces } = await context.models.survey(context.files.getPath(model.sha256), 'model/gltf-binary', {
        product: code,
      });
      await context.stores.replaceSurvey(code, model.revision, survey, pieces).catch(ignoreStorageFault);
      return { survey };
    } catch (error) {
      const refused = error instanceof Problem && !BUSY.includes(error.code);
      const survey = makeBlankSurvey(model.bytes, error instanceof Problem ? error.message : MODEL_TEXTS.notMeasured);
      if (refused) await context.stores.replaceSurvey(code, model.revision, survey, []).catch(ignoreStorageFault);
      else unmeasured.set(key, survey);
      return { survey };
    }
  });
}
