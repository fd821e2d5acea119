import { checkCode, checkName } from '../codes.ts';
import { Problem } from '../problems.ts';
import type { Article, Finish } from './finish.ts';
import { type GivenColour, readColour } from './read-colour.ts';

/** A finish as it is handed in: its shape is checked, what it says is not. */
export interface GivenFinish extends Omit<Finish, 'finish' | 'colour'> {
  readonly colour: GivenColour;
  readonly gloss?: unknown;
}

export interface GivenArticle extends Omit<Article, 'article'> {
  readonly gloss?: unknown;
}

/**
 * Makes a finish of what is handed in.
 * @param article the article it names; null when it names none
 * @throws Problem `invalid-code`, `reserved-code`, `invalid-name`, `name-too-long`, `invalid-field`, `colour-…`,
 *   `gloss-unsupported`
 */
export function readFinish(code: string, { gloss, ...given }: GivenFinish, article: Article | null): Finish {
  refuseGloss(gloss);
  checkCode(code, 'finish');
  if (article && article.family !== given.family) {
    throw new Problem('invalid-field', {
      detail: `The article ${article.article} is of the family ${article.family}; its finishes are too.`,
      expected: article.family,
      received: given.family,
      where: '/family',
    });
  }
  const names = Object.entries(given.names ?? {}).map(([language, name]) => [
    language,
    checkName(name, `/names/${language}`),
  ]);
  return {
    finish: code,
    ...given,
    name: checkName(given.name, '/name'),
    ...(given.names && { names: Object.fromEntries(names) }),
    colour: readColour(given.colour),
  };
}

/** @throws Problem as `readFinish` */
export function readArticle(code: string, { gloss, ...given }: GivenArticle): Article {
  refuseGloss(gloss);
  return { article: checkCode(code, 'article'), ...given, name: checkName(given.name, '/name') };
}

function refuseGloss(gloss: unknown): void {
  if (gloss === undefined) return;
  throw new Problem('gloss-unsupported', {
    detail:
      'A gloss reading is not turned into roughness yet. Give roughness (0 to 1) instead, or leave both out for the default of the family.',
    where: '/gloss',
  });
}
