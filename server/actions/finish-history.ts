import { deltaE2000 } from '../core/colour/lab.ts';
import type { Article, Finish } from '../core/finish/finish.ts';
import { findMaps, type ResolvedFinish, resolveFinish } from '../core/finish/resolve-finish.ts';
import { type Difference, listDifferences } from '../core/history/compare-values.ts';
import {
  type DescribedHistory,
  type DescribedRevision,
  describeHistorySliced,
  type History,
  isRevision,
  type RevisionEntry,
} from '../core/history/history.ts';
import { Problem } from '../core/problems.ts';
import { FINISH_PROBLEMS } from '../core/texts/problems/finish.ts';
import { recallCodes } from './finish-maps.ts';
import { inTurns } from './in-turns.ts';
import { type ForFinishes, unknownArticle, unknownFinish } from './load-finishes.ts';

export interface FinishRevision extends DescribedRevision<Finish> {
  readonly resolved: ResolvedFinish;
  /** ΔE00 between the colours of this revision and the one before; null without one. */
  readonly deltaE: number | null;
}

/** A past revision of a finish, with its article at that time. */
interface PastFinish {
  readonly entry: RevisionEntry<Finish>;
  readonly article: RevisionEntry<Article> | null;
  readonly resolved: ResolvedFinish;
}

/** Takes a page of revisions. */
type Choose = <R extends DescribedRevision<object>>(revisions: readonly R[]) => readonly R[];

/**
 * The history of a finish by revision. A deleted finish keeps its history.
 * @param choose only these revisions are resolved
 * @throws Problem `unknown-finish-code` for a code that was never used
 */
export async function listFinishRevisions(
  context: ForFinishes,
  code: string,
  choose: Choose = (all) => all,
): Promise<Omit<DescribedHistory<Finish>, 'revisions'> & { readonly revisions: readonly FinishRevision[] }> {
  const history = await context.stores.getFinishHistory(code);
  if (history.length === 0) throw unknownFinish(code);
  const articleOf = await loadArticles(context, history);
  const described = await inTurns(
    describeHistorySliced(history, (before, after) => listOfArticle(articleOf(before), articleOf(after))),
  );
  const { events } = described;
  const revisions = choose(described.revisions);
  const entries = revisions.flatMap(({ entry, before }) => (before ? [entry, before] : [entry]));
  const resolve = await makeResolver(context, entries, articleOf);
  return {
    events,
    revisions: revisions.map((revision) => {
      const resolved = resolve(revision.entry);
      const deltaE = revision.before && deltaE2000(resolve(revision.before).colourLab, resolved.colourLab);
      return { ...revision, resolved, deltaE };
    }),
  };
}

/** @throws Problem `unknown-finish-code`, `unknown-revision` */
export async function getFinishRevision(context: ForFinishes, code: string, revision: number): Promise<PastFinish> {
  const history = await context.stores.getFinishHistory(code);
  if (history.length === 0) throw unknownFinish(code);
  const entry = findRevision(history, code, revision);
  const articleOf = await loadArticles(context, [entry]);
  const resolve = await makeResolver(context, [entry], articleOf);
  return { entry, article: articleOf(entry), resolved: resolve(entry) };
}

/** @throws Problem `not-found` */
export async function listArticleRevisions({ stores }: ForFinishes, code: string): Promise<DescribedHistory<Article>> {
  const history = await stores.getArticleHistory(code);
  if (history.length === 0) throw unknownArticle(code);
  return inTurns(describeHistorySliced(history));
}

/** @throws Problem `not-found`, `unknown-revision` */
export async function getArticleRevision(
  { stores }: ForFinishes,
  code: string,
  revision: number,
): Promise<RevisionEntry<Article>> {
  const history = await stores.getArticleHistory(code);
  if (history.length === 0) throw unknownArticle(code);
  return findRevision(history, code, revision);
}

function findRevision<T>(history: History<T>, code: string, revision: number): RevisionEntry<T> {
  const revisions = history.filter(isRevision);
  const found = revisions.find((entry) => entry.revision === revision);
  if (found) return found;
  const [first, last] = [revisions[0], revisions.at(-1)];
  const range = first ? `${first.revision} to ${last!.revision}` : null;
  throw new Problem('unknown-revision', {
    detail: FINISH_PROBLEMS['unknown-revision'].ofFinish(code, revision, range),
    ...(range !== null && { expected: range }),
    received: revision,
  });
}

type ArticleOf = (entry: RevisionEntry<Finish>) => RevisionEntry<Article> | null;

/** Resolves revisions of a finish with the articles and maps of that time. */
async function makeResolver(
  context: ForFinishes,
  entries: readonly RevisionEntry<Finish>[],
  articleOf: ArticleOf,
): Promise<(entry: RevisionEntry<Finish>) => ResolvedFinish> {
  const { codes } = await recallCodes(
    context,
    entries.flatMap((entry) => findMaps(entry.definition, articleOf(entry)?.definition ?? null).colour ?? []),
  );
  return (entry) => resolveFinish(entry.definition, articleOf(entry)?.definition ?? null, codes);
}

/** Loads the articles that revisions of a finish refer to, as they were at that time. */
async function loadArticles({ stores }: ForFinishes, history: History<Finish>): Promise<ArticleOf> {
  const codes = new Set(history.filter(isRevision).flatMap(({ definition }) => definition.article ?? []));
  const known = new Map<string, RevisionEntry<Article>>();
  for (const code of codes) {
    for (const entry of (await stores.getArticleHistory(code)).filter(isRevision)) {
      known.set(`${code} ${entry.revision}`, entry);
    }
  }
  return ({ definition, articleRevision }) => known.get(`${definition.article} ${articleRevision}`) ?? null;
}

/** Changes of the article between two revisions of a finish that use the same article. */
function listOfArticle(before: RevisionEntry<Article> | null, after: RevisionEntry<Article> | null): Difference[] {
  if (!before || !after || before.revision === after.revision) return [];
  if (before.definition.article !== after.definition.article) return [];
  return listDifferences(before.definition, after.definition).map((each) => ({
    ...each,
    field: `article.${each.field}`,
  }));
}
