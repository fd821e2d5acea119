import { foldCode } from '../core/codes.ts';
import type { DeliveryFile, DeliveryManifest } from '../core/delivery/delivery.ts';
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

/**
 * The file with a sample of each finish of a delivery, as the finishes were then. It is made once, when it is first asked for, and
 * stored.
 * @throws Problem `samples-unknown` for a delivery from before histories were kept
 */
export async function findSamples(
  context: Context,
  manifest: DeliveryManifest,
): Promise<{ readonly sha256: string; readonly bytes: number }> {
  const { product, delivery } = manifest;
  const find = async () => {
    const known = await context.stores.getDeliveryFile(product, delivery, SAMPLES);
    return known && known.sha256 !== null && known.bytes !== null ? { sha256: known.sha256, bytes: known.bytes } : null;
  };
  const known = await find();
  if (known) return known;
  return shareInFlight(`samples ${foldCode(product)} ${delivery} ${manifest.file.sha256}`, async () => {
    const made = await make(context, manifest);
    const file: DeliveryFile = {
      form: SAMPLES,
      stored: true,
      ...made,
      mediaType: 'model/gltf-binary',
      details: { finishes: manifest.finishes.length },
    };
    await context.stores.addDeliveryFiles(product, delivery, [file]);
    return (await find()) ?? made;
  });
}

async function make(context: Context, manifest: DeliveryManifest) {
  const finishes: ResolvedFinish[] = [];
  for (const { finish, revision } of manifest.finishes) {
    finishes.push(await recallFinish(context, finish, revision));
    await giveTurn();
  }
  const targetPath = await context.files.newTemporary();
  try {
    const request = { finishes, targetPath, readMap: makeMapReader(context) };
    const { sha256, bytes } = await context.models.writeSamples(request, { product: manifest.product });
    await context.files.adopt(targetPath, sha256);
    return { sha256, bytes };
  } catch (error) {
    await context.files.discard(targetPath);
    throw error;
  }
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
