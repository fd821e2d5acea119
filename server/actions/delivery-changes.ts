import { foldCode } from '../core/codes.ts';
import {
  type Background,
  type Comparison,
  compareDeliveries,
  type Holding,
  pickDelivered,
} from '../core/delivery/compare-deliveries.ts';
import type { DefinedFinish } from '../core/delivery/compare-finish.ts';
import type { DeliveryManifest, DeliverySummary } from '../core/delivery/delivery.ts';
import { listNewFindings } from '../core/delivery/new-findings.ts';
import type { Article } from '../core/finish/finish.ts';
import { findMaps, resolveFinish, toLook } from '../core/finish/resolve-finish.ts';
import { type History, isRevision } from '../core/history/history.ts';
import { Problem } from '../core/problems.ts';
import type { Finding } from '../core/product/finding.ts';
import { listUsedFinishes } from '../core/schedule/schedule.ts';
import { DELIVERY_PROBLEMS } from '../core/texts/problems/delivery.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import { listFindings } from './check-product.ts';
import type { Context } from './context.ts';
import { recallCodes } from './finish-maps.ts';
import { giveTurn, inTurns } from './in-turns.ts';
import { getProduct, loadProduct } from './load-product.ts';
import type { FinishLibrary, LoadedProduct } from './loaded-product.ts';
import { listSkuFindings } from './record-shop-data.ts';
import { getTurn } from './turns.ts';

type Comparing = Pick<Context, 'stores' | 'files' | 'imaging'>;

/** What the next delivery would hold. */
export function holdNow({ model, slots, schedule, finishes, line }: LoadedProduct, names: 'name' | 'code'): Holding {
  const range = new Map(line?.range.map((entry) => [foldCode(entry.finish), entry]));
  const { variants, default: first } = schedule?.schedule ?? { variants: [], default: '' };
  return {
    model: model && { revision: model.revision, sha256: model.sha256, bytes: model.bytes },
    names,
    default: first,
    variants,
    finishes: listUsedFinishes({ variants }).map((code) => {
      const finish = finishes.resolve(code);
      const known = finishes.byCode.get(foldCode(code))!;
      const ranged = range.get(foldCode(code));
      return {
        finish: finish.finish,
        name: finish.name,
        revision: known.revision,
        specified: finish.specification,
        hex: finish.hex,
        outOfGamutDeltaE: finish.outOfGamutDeltaE,
        colourFrom: finish.colourFrom,
        delivered: finish.delivered,
        levelled: finish.levelled,
        maps: finish.maps,
        ...(finish.supplied !== null && { supplied: finish.supplied }),
        ...(known.names && { names: known.names }),
        family: known.family,
        grade: ranged?.grade ?? null,
        status: ranged?.status ?? known.status ?? 'current',
      };
    }),
    slots: slots.map(pickDelivered),
  };
}

/** What differs between a delivery and the next one. The list of products calls a product out of date by the same. */
export function compareWithNow(
  context: Comparing,
  loaded: LoadedProduct,
  manifest: DeliveryManifest,
  names: 'name' | 'code' = manifest.names,
): Promise<Comparison> {
  return compare(context, loaded, manifest, holdNow(loaded, names));
}

interface Pending extends Comparison {
  /** The last delivery, and how it names its variants; null without one. */
  readonly since: Pick<DeliveryManifest, 'delivery' | 'names'> | null;
  /** Findings of the next delivery that the last one does not have. */
  readonly findings: readonly Finding[];
}

/**
 * What has changed since the last delivery; nothing without one. Reads no bytes of models.
 * @throws Problem `unknown-product`
 */
export async function findPending(context: Context, code: string, names?: 'name' | 'code'): Promise<Pending> {
  const loaded = await loadProduct(context, code);
  const findings = [
    ...(await listFindings(context, loaded, getTurn().signal)),
    ...(await listSkuFindings(context, loaded)),
  ];
  const manifest = await getLastDelivery(context, loaded);
  if (!manifest) return { since: null, changes: [], variants: 0, findings: listNewFindings([], findings) };
  return {
    ...(await compareWithNow(context, loaded, manifest, names)),
    since: { delivery: manifest.delivery, names: manifest.names },
    findings: listNewFindings(manifest.findings, findings),
  };
}

/** The newest delivery that is not withdrawn: what the next one is compared with. */
export async function getLastDelivery(
  { stores }: Pick<Context, 'stores'>,
  { product }: Pick<LoadedProduct, 'product'>,
): Promise<DeliveryManifest | null> {
  const last = await stores.getDeliverySummary(product.code, 'current');
  return last ? stores.getDelivery(product.code, last.delivery) : null;
}

/**
 * What differs between two deliveries of a product.
 * @param since number of the one to compare with; the one before when left out
 * @throws Problem `unknown-product`, `unknown-delivery`
 */
export async function findChanges(
  context: Context,
  code: string,
  delivery: string,
  since: string | undefined,
): Promise<Pending> {
  const after = await getDelivery(context, code, delivery);
  const before = await getDelivery(context, code, since ?? String(after.delivery - 1));
  const loaded = await loadProduct(context, code);
  return {
    ...(await compare(context, loaded, before, after)),
    since: { delivery: before.delivery, names: before.names },
    findings: listNewFindings(before.findings, after.findings),
  };
}

/**
 * @param delivery a number, or `current` for the newest that is not withdrawn
 * @throws Problem `unknown-product`, `unknown-delivery`, `no-delivery`
 */
export async function getDelivery(
  context: Pick<Context, 'stores'>,
  product: string,
  delivery: string,
): Promise<DeliveryManifest> {
  const { code } = await getProduct(context, product);
  const known = await findDelivery(context, code, delivery);
  const manifest = known && (await context.stores.getDelivery(code, known.delivery));
  if (manifest) return manifest;
  throw missingDelivery(code, delivery);
}

/** A delivery without its manifest, as addresses name it; null where there is none. */
export async function findDelivery(
  { stores }: Pick<Context, 'stores'>,
  product: string,
  delivery: string,
): Promise<DeliverySummary | null> {
  if (delivery !== 'current' && !/^\d{1,9}$/.test(delivery)) return null;
  return stores.getDeliverySummary(product, delivery === 'current' ? delivery : Number(delivery));
}

export function missingDelivery(product: string, delivery: string): Problem {
  if (delivery === 'current') return new Problem('no-delivery', { detail: DELIVERY_PROBLEMS['no-delivery'](product) });
  return new Problem('unknown-delivery', {
    detail: PRODUCT_PROBLEMS['unknown-delivery'](product, delivery.slice(0, 40)),
    received: delivery.slice(0, 40),
  });
}

async function compare(context: Comparing, loaded: LoadedProduct, before: DeliveryManifest, after: Holding) {
  const background: Background = {
    finishes: await defineRevised(context, loaded.finishes, before, after),
    size: await findSizes(context, loaded, before, after),
    labels: new Map(loaded.slots.map(({ slot, label }) => [slot, label])),
  };
  return inTurns(compareDeliveries(before, after, background));
}

/** Sizes of the two models, read only if the model is another one. */
async function findSizes(
  { stores }: Comparing,
  { product, model }: LoadedProduct,
  before: Holding,
  after: Holding,
): Promise<Background['size']> {
  if (!before.model || !after.model || before.model.sha256 === after.model.sha256) return null;
  const [was, is] = await Promise.all(
    [before.model, after.model].map(async ({ revision, sha256 }) => {
      if (model?.revision === revision && model.sha256 === sha256) return model.survey.size;
      const stored = await stores.getRevision(product.code, revision);
      return stored?.sha256 === sha256 ? stored.survey.size : null;
    }),
  );
  return { was: was ?? null, is: is ?? null };
}

/** The definitions of the finishes that were saved between two deliveries, from their histories. */
async function defineRevised(
  context: Comparing,
  library: FinishLibrary,
  before: Holding,
  after: Holding,
): Promise<Background['finishes']> {
  const revisions = new Map(before.finishes.map(({ finish, revision }) => [foldCode(finish), revision]));
  const defined = new Map<string, { was: DefinedFinish | null; is: DefinedFinish | null }>();
  const articles = new Map<string, Promise<History<Article>>>();
  const getArticleHistory = (code: string) => {
    const history = articles.get(foldCode(code)) ?? context.stores.getArticleHistory(code);
    articles.set(foldCode(code), history);
    return history;
  };
  // resolving a finish takes a millisecond, so others have a turn after each
  for (const { finish, revision } of after.finishes) {
    const key = foldCode(finish);
    const earlier = revisions.get(key);
    if (earlier === undefined || earlier === revision) continue;
    await giveTurn();
    const history = await context.stores.getFinishHistory(finish);
    const was = await define(context, history, earlier, getArticleHistory);
    defined.set(key, {
      was,
      is: defineNow(library, finish, revision) ?? (await define(context, history, revision, getArticleHistory)),
    });
  }
  return defined;
}

function defineNow(library: FinishLibrary, code: string, revision: number): DefinedFinish | null {
  const finish = library.byCode.get(foldCode(code));
  if (finish?.revision !== revision) return null;
  const article = finish.article === undefined ? null : (library.articles.get(foldCode(finish.article)) ?? null);
  return { finish, article, look: toLook(library.resolve(code)) };
}

/** Null for a revision from before histories were kept, of the finish or of its article. */
async function define(
  context: Comparing,
  history: History<DefinedFinish['finish']>,
  revision: number,
  getArticleHistory: (code: string) => Promise<History<Article>>,
): Promise<DefinedFinish | null> {
  const found = findRevision(history, revision);
  if (!found) return null;
  const { definition: finish, articleRevision } = found;
  let article: DefinedFinish['article'] = null;
  if (finish.article !== undefined && finish.article !== null) {
    const articles = await getArticleHistory(finish.article);
    article = (articleRevision === null ? undefined : findRevision(articles, articleRevision))?.definition ?? null;
    if (!article) return null;
  }
  const { colour } = findMaps(finish, article);
  const { codes } = await recallCodes(context, colour === undefined ? [] : [colour]);
  return { finish, article, look: toLook(resolveFinish(finish, article, codes)) };
}

/** The revision with a number, of the finish or article that has the code now. */
function findRevision<T>(history: History<T>, revision: number) {
  return history.filter(isRevision<T>).findLast((entry) => entry.revision === revision);
}
