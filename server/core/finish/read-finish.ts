import { checkCode, checkName } from '../codes.ts';
import { Problem } from '../problems.ts';
import type { Article, Finish, GlossReading } from './finish.ts';
import { type GivenColour, readColour } from './read-colour.ts';
import { findMaps } from './resolve-finish.ts';

/** A finish as it is handed in: its shape is checked, what it says is not. */
export interface GivenFinish extends Omit<Finish, 'finish' | 'colour'> {
  readonly colour?: GivenColour;
}

export type GivenArticle = Omit<Article, 'article'>;

/**
 * Makes a finish of what is handed in.
 * @param article the article it names; null when it names none
 * @throws Problem `invalid-code`, `reserved-code`, `invalid-name`, `name-too-long`, `invalid-field`, `colour-…`,
 *   `spectrum-unreadable`, `gloss-incomplete`
 */
export function readFinish(code: string, given: GivenFinish, article: Article | null): Finish {
  checkGloss(given.gloss);
  checkCode(code, 'finish');
  if (article && article.family !== given.family) {
    throw new Problem('invalid-field', {
      detail: `The article ${article.article} is of the family ${article.family}; its finishes are too.`,
      expected: article.family,
      received: given.family,
      where: '/family',
    });
  }
  checkColourSource(given, article);
  const names = Object.entries(given.names ?? {}).map(([language, name]) => [
    language,
    checkName(name, `/names/${language}`),
  ]);
  const { colour, ...more } = given;
  return {
    finish: code,
    ...more,
    name: checkName(given.name, '/name'),
    ...(given.names && { names: Object.fromEntries(names) }),
    ...(colour && { colour: readColour(colour) }),
  };
}

/**
 * A finish has a colour, or a colour map to take it from.
 * @throws Problem `colour-incomplete`
 */
function checkColourSource({ colour, colourFrom, maps, supplied }: GivenFinish, article: Article | null): void {
  const hasMap = findMaps({ ...(maps && { maps }), ...(supplied && { supplied }) }, article).colour !== undefined;
  const refuse = (detail: string, where: string): never => {
    throw new Problem('colour-incomplete', { detail, where });
  };
  if (colourFrom === 'map' && !hasMap) {
    refuse(
      'The colour is to come from the colour map, and there is none. Add a colour map, or give a colour.',
      '/maps',
    );
  }
  if (colour !== undefined) return;
  if (colourFrom === 'specification') {
    refuse(
      'The colour is to be the specified one, and none is given. Add a colour, or take it from the map.',
      '/colour',
    );
  }
  if (!hasMap) refuse('Give a colour, or a colour map whose mean is the colour.', '/colour');
}

/** @throws Problem as `readFinish` */
export function readArticle(code: string, given: GivenArticle): Article {
  checkGloss(given.gloss);
  return { article: checkCode(code, 'article'), ...given, name: checkName(given.name, '/name') };
}

/** Polished metals read many times what black glass does. */
const MOST_GLOSS_UNITS = 2000;

/** @throws Problem `gloss-incomplete` */
function checkGloss(gloss: GlossReading | undefined): void {
  if (gloss === undefined) return;
  const readings = Object.entries(gloss).filter(([, value]) => value !== undefined);
  const wrong = readings.find(([, value]) => !(value >= 0 && value <= MOST_GLOSS_UNITS));
  if (readings.length > 0 && !wrong) return;
  throw new Problem('gloss-incomplete', {
    detail: wrong
      ? `A gloss reading is ${wrong[1]}; gloss units start at 0 (black glass has 100, ISO 2813). Correct the reading.`
      : 'A gloss reading names its angle: gu60 in general, gu20 for high gloss, gu85 for matt. Add one, or leave gloss out.',
    expected: ['gu20', 'gu60', 'gu85'],
    received: wrong?.[1] ?? {},
    where: wrong ? `/gloss/${wrong[0]}` : '/gloss',
  });
}
