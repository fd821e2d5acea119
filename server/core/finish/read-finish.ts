import { checkCode, checkName } from '../codes.ts';
import { Problem } from '../problems.ts';
import { COLOUR_PROBLEMS } from '../texts/problems/colour.ts';
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
      detail: COLOUR_PROBLEMS['invalid-field'].familyOfArticle(article.article, article.family),
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
    refuse(COLOUR_PROBLEMS['colour-incomplete'].noColourMap, '/maps');
  }
  if (colour !== undefined) return;
  if (colourFrom === 'specification') {
    refuse(COLOUR_PROBLEMS['colour-incomplete'].noSpecification, '/colour');
  }
  if (!hasMap) refuse(COLOUR_PROBLEMS['colour-incomplete'].noColour, '/colour');
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
      ? COLOUR_PROBLEMS['gloss-incomplete'].outsideRange(wrong[1])
      : COLOUR_PROBLEMS['gloss-incomplete'].noAngle,
    expected: ['gu20', 'gu60', 'gu85'],
    received: wrong?.[1] ?? {},
    where: wrong ? `/gloss/${wrong[0]}` : '/gloss',
  });
}
