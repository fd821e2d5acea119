import { foldCode } from '../core/codes.ts';
import type { DeliveryManifest } from '../core/delivery/delivery.ts';
import type { Article, Finish } from '../core/finish/finish.ts';
import { findMaps, type ResolvedFinish, resolveFinish } from '../core/finish/resolve-finish.ts';
import { isRevision } from '../core/history/history.ts';
import { Problem } from '../core/problems.ts';
import { DELIVERY_PROBLEMS } from '../core/texts/problems/delivery.ts';
import { shareInFlight } from './caching.ts';
import type { Context } from './context.ts';
import { SAMPLES } from './delivery-files.ts';
import { makeMapReader, recallCodes } from './finish-maps.ts';
import { giveTurn } from './in-turns.ts';
import { findStoredForm, type StoredForm, storeForm } from './stored-forms.ts';

/**
 * The file with a sample of each finish of a delivery, as the finishes were then. It is made once, when it is first asked for, and
 * stored.
 * @throws Problem `samples-unknown` for a delivery from before histories were kept
 */
export async function findSamples(context: Context, manifest: DeliveryManifest): Promise<StoredForm> {
  const known = await findStoredForm(context, manifest, SAMPLES);
  if (known) return known;
  const { product, delivery, file } = manifest;
  return shareInFlight(`samples ${foldCode(product)} ${delivery} ${file.sha256}`, () =>
    storeForm(context, manifest, { form: SAMPLES, mediaType: 'model/gltf-binary' }, async (targetPath) => {
      const finishes: ResolvedFinish[] = [];
      for (const { finish, revision } of manifest.finishes) {
        finishes.push(await recallFinish(context, finish, revision));
        await giveTurn();
      }
      const request = { finishes, targetPath, readMap: makeMapReader(context) };
      const made = await context.models.writeSamples(request, { product });
      return { ...made, details: { finishes: finishes.length } };
    }),
  );
}

/** A finish as it was in one of its revisions. @throws Problem `samples-unknown` */
async function recallFinish(context: Context, code: string, revision: number): Promise<ResolvedFinish> {
  const { stores } = context;
  const entry = (await stores.getFinishHistory(code))
    .filter(isRevision<Finish>)
    .findLast((one) => one.revision === revision);
  const unknown = () =>
    new Problem('samples-unknown', { detail: DELIVERY_PROBLEMS['samples-unknown'](code), received: code });
  if (!entry) throw unknown();
  const { definition: finish, articleRevision } = entry;
  let article: Article | null = null;
  if (finish.article) {
    const history = (await stores.getArticleHistory(finish.article)).filter(isRevision<Article>);
    article = history.findLast((one) => one.revision === articleRevision)?.definition ?? null;
    if (!article) throw unknown();
  }
  const { colour } = findMaps(finish, article);
  const { codes } = await recallCodes(context, colour === undefined ? [] : [colour]);
  return resolveFinish(finish, article, codes);
}
