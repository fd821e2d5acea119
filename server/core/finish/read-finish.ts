import { checkCode, checkName } from '../codes.ts';
import { checkSpectrum } from '../colour/spectrum.ts';
import { isHex } from '../colour/srgb.ts';
import { Problem } from '../problems.ts';
import { COLOUR_PROBLEMS } from '../texts/problems/finish.ts';
import {
  type Article,
  type ColourSpecification,
  type Finish,
  GEOMETRIES,
  type Geometry,
  type GlossReading,
  ILLUMINANTS,
  type Illuminant,
  OBSERVERS,
  type Observer,
  type Viewing,
} from './finish.ts';
import { findMaps } from './resolve-finish.ts';

/** A finish as received. Its shape is checked, its values are not. */
export interface GivenFinish extends Omit<Finish, 'finish' | 'colour'> {
  readonly colour?: GivenColour;
}

export type GivenArticle = Omit<Article, 'article'>;

/**
 * Makes a finish from received fields.
 * @param article the article it names; null when it names none
 * @throws Problem `invalid-code`, `reserved-code`, `invalid-name`, `name-too-long`, `invalid-field`, `colour-…`,
 * `spectrum-unreadable`, `gloss-incomplete`
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
 * A finish needs a colour, or a colour map that supplies it.
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

/** Polished metals read many times the value of black glass. */
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

/** A colour as received, before its completeness is checked. */
export interface GivenColour {
  readonly hex?: string;
  readonly lab?: readonly number[];
  /** Y of the white is 100. */
  readonly xyz?: readonly number[];
  readonly spectrum?: {
    readonly startNm: number;
    readonly stepNm: number;
    readonly values: readonly (number | null)[];
  };
  readonly illuminant?: string;
  readonly observer?: string;
  readonly geometry?: string;
}

const WAYS = ['hex', 'lab', 'xyz', 'spectrum'] as const;

/**
 * Checks that a colour is complete: sRGB hex; Lab or XYZ with illuminant and observer; or a spectrum.
 * @throws Problem `colour-incomplete`, `colour-unsupported`, `spectrum-unreadable`
 */
export function readColour(given: GivenColour, where = '/colour'): ColourSpecification {
  const ways = WAYS.filter((way) => given[way] !== undefined);
  if (ways.length !== 1) {
    throw new Problem('colour-incomplete', {
      detail: COLOUR_PROBLEMS['colour-incomplete'].onlyOneWay(ways),
      expected: WAYS,
      received: Object.keys(given),
      where,
    });
  }
  if (given.hex !== undefined) return readHex(given.hex, `${where}/hex`);
  if (given.spectrum !== undefined) {
    const geometry = readGeometry(given.geometry, where);
    return { spectrum: checkSpectrum(given.spectrum, `${where}/spectrum`), ...(geometry && { geometry }) };
  }
  const viewing = readViewing(given, where);
  if (given.lab !== undefined) return { lab: readThree(given.lab, LAB, `${where}/lab`), ...viewing };
  return { xyz: readThree(given.xyz!, XYZ, `${where}/xyz`), ...viewing };
}

function readHex(hex: string, where: string): ColourSpecification {
  if (isHex(hex)) return { hex: hex.toLowerCase() };
  throw new Problem('colour-incomplete', {
    detail: COLOUR_PROBLEMS['colour-incomplete'].notHex(hex.slice(0, 20)),
    expected: '#rrggbb',
    received: hex.slice(0, 20),
    where,
  });
}

/** Ranges for readings of a surface, wide enough for unusual ones. */
const LAB = [
  ['L*', 0, 100],
  ['a*', -200, 200],
  ['b*', -200, 200],
] as const;
const XYZ = [
  ['X', 0, 120],
  ['Y', 0, 120],
  ['Z', 0, 140],
] as const;

function readThree(
  values: readonly number[],
  ranges: readonly (readonly [name: string, low: number, high: number])[],
  where: string,
): [number, number, number] {
  ranges.forEach(([name, low, high], i) => {
    const value = values[i];
    if (value !== undefined && Number.isFinite(value) && value >= low && value <= high) return;
    throw new Problem('colour-incomplete', {
      detail: COLOUR_PROBLEMS['colour-incomplete'].outsideRange(name, value, low, high),
      expected: [low, high],
      received: value,
      where: `${where}/${i}`,
    });
  });
  return [values[0]!, values[1]!, values[2]!];
}

function readViewing({ illuminant, observer, geometry }: GivenColour, where: string): Viewing {
  if (illuminant === undefined || observer === undefined) {
    throw new Problem('colour-incomplete', {
      detail: COLOUR_PROBLEMS['colour-incomplete'].withoutViewing,
      expected: ['illuminant', 'observer'],
      where,
    });
  }
  if (!isOneOf(ILLUMINANTS, illuminant) || !isOneOf(OBSERVERS, observer)) {
    throw new Problem('colour-unsupported', {
      detail: COLOUR_PROBLEMS['colour-unsupported'].viewing(illuminant, observer),
      expected: ILLUMINANTS.flatMap((light) => OBSERVERS.map((eye) => `${light}/${eye}`)),
      received: `${illuminant}/${observer}`,
      where,
    });
  }
  const read = readGeometry(geometry, where);
  const viewing: { illuminant: Illuminant; observer: Observer } = { illuminant, observer };
  return read ? { ...viewing, geometry: read } : viewing;
}

function readGeometry(geometry: string | undefined, where: string): Geometry | null {
  if (geometry === undefined) return null;
  if (isOneOf(GEOMETRIES, geometry)) return geometry;
  throw new Problem('colour-unsupported', {
    detail: COLOUR_PROBLEMS['colour-unsupported'].geometry(geometry.slice(0, 20)),
    expected: GEOMETRIES,
    received: geometry.slice(0, 20),
    where: `${where}/geometry`,
  });
}

function isOneOf<T extends string>(words: readonly T[], word: string): word is T {
  return (words as readonly string[]).includes(word);
}
