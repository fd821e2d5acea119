import { checkCode, checkName } from '../core/codes.ts';
import type { Article, Finish, FinishMaps, StoredFinish } from '../core/finish/finish.ts';
import { Problem } from '../core/problems.ts';
import type { Context } from './context.ts';

/**
 * Stores a finish whole; a change makes a new revision.
 * @throws Problem `invalid-code`, `invalid-name`, `unknown-article`, `unknown-map`, `invalid-field`
 */
export async function putFinish(
  context: Pick<Context, 'stores'>,
  code: string,
  given: Omit<Finish, 'finish'>,
): Promise<{ readonly created: boolean; readonly finish: StoredFinish }> {
  checkCode(code, 'finish');
  const article = given.article === undefined ? null : await context.stores.getArticle(given.article);
  if (given.article !== undefined && !article) {
    throw new Problem('unknown-article', {
      detail: `There is no article “${given.article}”. PUT it to /api/articles/${given.article} first, or leave it out.`,
      received: given.article,
      where: '/article',
    });
  }
  if (article && article.family !== given.family) {
    throw new Problem('invalid-field', {
      detail: `The article ${article.article} is of the family ${article.family}; its finishes are too.`,
      expected: article.family,
      received: given.family,
      where: '/family',
    });
  }
  await checkMaps(context, given.maps);
  const names =
    given.names &&
    Object.fromEntries(
      Object.entries(given.names).map(([language, name]) => [language, checkName(name, `/names/${language}`)]),
    );
  const finish: Finish = {
    finish: code,
    ...given,
    name: checkName(given.name, '/name'),
    ...(names && { names }),
  };
  return context.stores.putFinish(finish);
}

/** Stores an article whole; every finish of it gets a new revision. */
export async function putArticle(
  context: Pick<Context, 'stores'>,
  code: string,
  given: Omit<Article, 'article'>,
): Promise<{ readonly created: boolean; readonly article: Article }> {
  checkCode(code, 'article');
  await checkMaps(context, given.maps);
  const article: Article = { article: code, ...given, name: checkName(given.name, '/name') };
  return { created: await context.stores.putArticle(article), article };
}

/** @throws Problem `unknown-map` */
async function checkMaps({ stores }: Pick<Context, 'stores'>, maps: FinishMaps | undefined): Promise<void> {
  for (const [use, sha256] of Object.entries(maps ?? {})) {
    if (sha256 && !(await stores.getFile(sha256))) {
      throw new Problem('unknown-map', {
        detail: `No image with the digest ${sha256.slice(0, 12)}… was uploaded. POST it to /api/files and use the sha256 of the answer.`,
        received: sha256,
        where: `/maps/${use}`,
      });
    }
  }
}
