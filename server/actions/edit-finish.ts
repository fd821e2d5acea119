import { foldCode } from '../core/codes.ts';
import type { Article, FinishMaps, StoredFinish } from '../core/finish/finish.ts';
import { type GivenArticle, type GivenFinish, readArticle, readFinish } from '../core/finish/read-finish.ts';
import type { Author, Change } from '../core/history/history.ts';
import type { Stores } from '../core/ports/stores.ts';
import { requireExpected } from '../core/precondition.ts';
import { Problem } from '../core/problems.ts';
import { FINISH_PROBLEMS } from '../core/texts/problems/finish.ts';
import type { Context } from './context.ts';
import { unknownFinish } from './load-finishes.ts';
import { tagArticle, tagFinish } from './tags.ts';

/**
 * Adds or replaces a finish. A change makes a new revision.
 * @param ifTag see `requireExpected`
 * @throws Problem `stale-finish`, `unknown-article`, `unknown-map`, `unknown-supplied`, and as `readFinish`
 */
export async function putFinish(
  context: Pick<Context, 'stores' | 'files' | 'models' | 'now'>,
  code: string,
  given: GivenFinish,
  author: Author,
  ifTag: string | null = null,
): Promise<{ readonly created: boolean; readonly finish: StoredFinish }> {
  const maps = await useConvertedMaps(context, given.maps);
  if (given.supplied) await checkSupplied(context, given.supplied.file);
  return context.stores.transaction(async (tx) => {
    await requireFinishExpected(tx, code, ifTag);
    const article = given.article === undefined ? null : await tx.getArticle(given.article);
    if (given.article !== undefined && !article) {
      throw new Problem('unknown-article', {
        detail: FINISH_PROBLEMS['unknown-article'](given.article),
        received: given.article,
        where: '/article',
      });
    }
    const finish = readFinish(code, { ...given, ...maps, ...(article && { article: article.article }) }, article);
    return tx.putFinish(finish, saved(context, author));
  });
}

async function requireFinishExpected(tx: Stores, code: string, ifTag: string | null): Promise<void> {
  if (ifTag === null) return;
  const stored = await tx.getFinish(code);
  requireExpected('finish', code, stored && tagFinish(stored), ifTag);
}

/** @throws Problem `unknown-supplied` */
async function checkSupplied({ files, models }: Pick<Context, 'files' | 'models'>, sha256: string): Promise<void> {
  if ((await files.has(sha256)) && (await models.holdsMaterial(files.getPath(sha256)))) return;
  throw new Problem('unknown-supplied', {
    detail: FINISH_PROBLEMS['unknown-supplied'],
    received: sha256,
    where: '/supplied/file',
  });
}

/**
 * Adds or replaces an article. Each of its finishes gets a new revision.
 * @param ifTag see `requireExpected`
 * @throws Problem `stale-article`, `unknown-map`, and as `readArticle`; `finish-in-use` if a finish of the article has another
 *   family, or would lose its only colour
 */
export async function putArticle(
  context: Pick<Context, 'stores' | 'now'>,
  code: string,
  given: GivenArticle,
  author: Author,
  ifTag: string | null = null,
): Promise<{ readonly created: boolean; readonly article: Article }> {
  const maps = await useConvertedMaps(context, given.maps);
  return context.stores.transaction(async (tx) => {
    const before = await tx.getArticle(code);
    requireExpected('article', code, before && tagArticle(before), ifTag);
    // the first spelling of the code stays, as for a finish
    const article = { ...readArticle(code, { ...given, ...maps }), article: before?.article ?? code };
    checkOwnFinishes(code, given, await tx.listFinishes());
    return { created: await tx.putArticle(article, saved(context, author)), article };
  });
}

/** @throws Problem `finish-in-use` */
function checkOwnFinishes(code: string, given: GivenArticle, finishes: readonly StoredFinish[]): void {
  const own = finishes.filter((finish) => finish.article !== undefined && foldCode(finish.article) === foldCode(code));
  const others = own.filter(({ family }) => family !== given.family);
  if (others.length > 0) {
    throw new Problem('finish-in-use', {
      detail: FINISH_PROBLEMS['finish-in-use'].familyOfArticle(others.length, others[0]!.family),
      findings: others.slice(0, 20).map(({ finish, family }) => ({ finish, family })),
    });
  }
  if (given.maps?.colour === undefined) {
    const uncoloured = own.filter(({ colour, maps }) => colour === undefined && maps?.colour === undefined);
    if (uncoloured.length > 0) {
      throw new Problem('finish-in-use', {
        detail: FINISH_PROBLEMS['finish-in-use'].colourMapOfArticle(uncoloured.length, uncoloured[0]!.finish),
        findings: uncoloured.slice(0, 20).map(({ finish }) => ({ finish })),
      });
    }
  }
}

const saved = ({ now }: Pick<Context, 'now'>, author: Author): Change => ({
  ...author,
  how: 'saved',
  at: now().toISOString(),
});

/**
 * The maps with the converted copy as colour map if an image is not in sRGB. So all other code reads sRGB. Data maps are never
 * converted.
 * @throws Problem `unknown-map`
 */
async function useConvertedMaps(
  { stores }: Pick<Context, 'stores'>,
  given: FinishMaps | undefined,
): Promise<{ readonly maps?: FinishMaps }> {
  if (!given) return {};
  const maps: { -readonly [use in keyof FinishMaps]: FinishMaps[use] } = { ...given };
  for (const [use, sha256] of Object.entries(given)) {
    if (!sha256) continue;
    const image = await stores.getFile(sha256);
    if (!image) {
      throw new Problem('unknown-map', {
        detail: FINISH_PROBLEMS['unknown-map'],
        received: sha256,
        where: `/maps/${use}`,
      });
    }
    if (use === 'colour') maps.colour = image.encoding?.asColour ?? sha256;
  }
  return { maps };
}

/**
 * Deletes an unused finish. Its history stays.
 * @param ifTag see `requireExpected`
 * @throws Problem `unknown-finish-code`, `stale-finish`, `finish-in-use`
 */
export async function deleteFinish(
  { stores, now }: Pick<Context, 'stores' | 'now'>,
  code: string,
  author: Author,
  ifTag: string | null = null,
): Promise<void> {
  await stores.transaction(async (tx) => {
    if (!(await tx.getFinish(code))) throw unknownFinish(code);
    await requireFinishExpected(tx, code, ifTag);
    await tx.deleteFinish(code, { ...author, at: now().toISOString() });
  });
}
