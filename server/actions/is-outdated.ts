import { foldCode } from '../core/codes.ts';
import {
  articleChangesDelivery,
  changesDelivery,
  differsFromDelivery,
  listRevised,
} from '../core/delivery/differs-from-delivery.ts';
import { type History, isRevision } from '../core/history/history.ts';
import type { Context } from './context.ts';
import type { LoadedProduct } from './loaded-product.ts';

/**
 * Whether a delivery differs from what the next one would contain: another model, other slots or variants, or a finish
 * that changed in a way that deliveries show.
 */
export async function isOutdated(
  { stores }: Pick<Context, 'stores'>,
  { product, model, slots, schedule, finishes }: LoadedProduct,
  delivery: number,
): Promise<boolean> {
  const manifest = await stores.getDelivery(product.code, delivery);
  if (!manifest) return false;
  const now = { model: model?.sha256 ?? null, slots, schedule: schedule?.schedule ?? null };
  if (differsFromDelivery(manifest, now)) return true;
  for (const { finish, from, to } of listRevised(manifest, finishes.byCode)) {
    const before = findRevision(await stores.getFinishHistory(finish), from);
    // a finish from before histories were kept counts as changed
    if (!to || !before || changesDelivery(before.definition, to)) return true;
    const { article = null } = to;
    if (article === null) continue;
    const known =
      before.articleRevision === null
        ? undefined
        : findRevision(await stores.getArticleHistory(article), before.articleRevision);
    if (articleChangesDelivery(known?.definition ?? null, finishes.articles.get(foldCode(article)) ?? null))
      return true;
  }
  return false;
}

/** The revision with a number, of the finish that has the code now. */
function findRevision<T>(history: History<T>, revision: number) {
  return history.filter(isRevision<T>).findLast((entry) => entry.revision === revision);
}
