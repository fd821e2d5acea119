import { foldCode } from '../core/codes.ts';
import { checkFinish } from '../core/finish/check-finish.ts';
import type { Article, StoredFinish } from '../core/finish/finish.ts';
import { listSpecificationFindings } from '../core/finish/list-specification-findings.ts';
import { type RecallCodes, type ResolvedFinish, resolveFinish } from '../core/finish/resolve-finish.ts';
import type { Stores } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import type { Sliced } from '../core/slices.ts';
import { FINISH_PROBLEMS } from '../core/texts/problems/finish.ts';
import type { Context } from './context.ts';
import { recallColourMaps } from './finish-maps.ts';
import { inTurns } from './in-turns.ts';
import type { FinishLibrary } from './loaded-product.ts';
import { steadyNow } from './steady-now.ts';

/** The ports that loading finishes needs: it measures colour maps that are not measured yet. */
export type ForFinishes = Pick<Context, 'stores' | 'files' | 'imaging'>;

/**
 * Libraries by the list of finishes that they were made from, since resolving a colour is slow. A library with a map that could
 * not be read is made again when Dyeworks tries to read that map again (`until`, ms as of `steadyNow`).
 */
const libraries = new WeakMap<
  readonly StoredFinish[],
  { articles: readonly Article[]; until: number; library: FinishLibrary }
>();

/** Finishes and articles at one moment. */
interface Lists {
  readonly finishes: readonly StoredFinish[];
  readonly articles: readonly Article[];
}

export async function listAll(at: Stores): Promise<Lists> {
  const [finishes, articles] = await Promise.all([at.listFinishes(), at.listArticles()]);
  return { finishes, articles };
}

export async function loadFinishes(context: ForFinishes): Promise<FinishLibrary> {
  return makeFinishLibrary(context, await listAll(context.stores));
}

export async function makeFinishLibrary(context: ForFinishes, { finishes, articles }: Lists): Promise<FinishLibrary> {
  const known = libraries.get(finishes);
  if (known?.articles === articles && steadyNow() < known.until) return known.library;
  const { codes, until } = await recallColourMaps(context, finishes, articles);
  const library = makeLibrary(finishes, await indexFinishes(finishes), articles, codes);
  libraries.set(finishes, { articles, until, library });
  return library;
}

/** By the list that they were made from, which stays the same until a finish changes. */
const indexes = new WeakMap<readonly StoredFinish[], Promise<ReadonlyMap<string, StoredFinish>>>();

/** Finishes by folded code. */
export function indexFinishes(finishes: readonly StoredFinish[]): Promise<ReadonlyMap<string, StoredFinish>> {
  const known = indexes.get(finishes);
  if (known) return known;
  const index = inTurns(indexSliced(finishes));
  indexes.set(finishes, index);
  return index;
}

/** Finishes that are indexed in one go, some milliseconds. */
const INDEXED_AT_ONCE = 1000;

export function* indexSliced(finishes: readonly StoredFinish[]): Sliced<ReadonlyMap<string, StoredFinish>> {
  const index = new Map<string, StoredFinish>();
  for (const finish of finishes) {
    index.set(foldCode(finish.finish), finish);
    if (index.size % INDEXED_AT_ONCE === 0) yield;
  }
  return index;
}

function makeLibrary(
  finishes: readonly StoredFinish[],
  byCode: ReadonlyMap<string, StoredFinish>,
  articles: readonly Article[],
  recallCodes: RecallCodes,
): FinishLibrary {
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
    detail: FINISH_PROBLEMS['not-found'].article(code.slice(0, 80)),
    received: code.slice(0, 80),
  });
}

export function unknownFinish(code: string): Problem {
  return new Problem('unknown-finish-code', {
    detail: FINISH_PROBLEMS['unknown-finish-code'](code.slice(0, 80)),
    received: code.slice(0, 80),
  });
}
