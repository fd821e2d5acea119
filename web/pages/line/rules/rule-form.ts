import { foldCode } from '../../../../server/core/codes.ts';
import type { Article } from '../../../../server/core/finish/finish.ts';
import {
  type Line,
  listOptions,
  listRange,
  type Place,
  type RangedFinish,
  type Rule,
} from '../../../../server/core/line/line.ts';
import { findCompanion, type GivenRule, readRules, targetOf } from '../../../../server/core/line/rules.ts';
import { Problem } from '../../../../server/core/problems.ts';
import type { FinishAnswer } from '../../../../server/http/contracts/finish.ts';

/** How a rule names finishes at a position; `any` means all of them. */
export const WAYS = ['any', 'finish', 'family', 'tag', 'grade'] as const;
export type Way = (typeof WAYS)[number];

export const KINDS = ['excludes', 'requires', 'sameAs', 'companion'] as const;
type Kind = (typeof KINDS)[number];

export interface PlaceForm {
  readonly position: string;
  readonly way: Way;
  /** Code, family, tag or grade; empty for any. */
  readonly value: string;
}

/** A rule as its form shows it. */
export interface RuleForm {
  readonly when: PlaceForm;
  readonly kind: Kind;
  readonly target: PlaceForm;
}

/** The values that a rule can name at a position, by way. */
type Choices = Readonly<Record<Exclude<Way, 'any'>, readonly string[]>>;

export function toForm(rule: Rule): RuleForm {
  const kind = KINDS.find((each) => each in rule)!;
  return { when: toPlaceForm(rule.when), kind, target: toPlaceForm(targetOf(rule)) };
}

function toPlaceForm(place: Place): PlaceForm {
  const way = WAYS.find((each) => each !== 'any' && place[each] !== undefined) ?? 'any';
  return { position: place.position, way, value: way === 'any' ? '' : place[way]! };
}

export function toGivenRule({ when, kind, target }: RuleForm): GivenRule {
  const names = kind === 'excludes' || kind === 'requires';
  return { when: toPlace(when), [kind]: names ? toPlace(target) : { position: target.position } };
}

function toPlace({ position, way, value }: PlaceForm): Place {
  return way === 'any' || value === '' ? { position } : ({ position, [way]: value } as unknown as Place);
}

/** A new rule: the first two positions, each with the first value that it can name. */
export function createForm(line: Line, finishes: ReadonlyMap<string, FinishAnswer>): RuleForm {
  const [first, second = first] = line.positions.map(({ position }) => position);
  const when = movePlace({ position: '', way: 'family', value: '' }, first ?? '', line, finishes);
  return {
    when,
    kind: 'excludes',
    target: movePlace({ position: '', way: 'family', value: '' }, second ?? '', line, finishes),
  };
}

/** Changes the position. A value that the new position does not have is replaced by its first one. */
export function movePlace(
  place: PlaceForm,
  position: string,
  line: Line,
  finishes: ReadonlyMap<string, FinishAnswer>,
): PlaceForm {
  const choices = listChoices(line, position, finishes);
  if (place.way === 'any' || choices[place.way].includes(place.value)) return { ...place, position };
  return nameBy({ ...place, position }, place.way, choices);
}

/** Changes how finishes are named, and takes the first value. */
export function nameBy(place: PlaceForm, way: Way, choices: Choices): PlaceForm {
  return { ...place, way, value: way === 'any' ? '' : (choices[way][0] ?? '') };
}

/** @param finishes by folded code */
export function listChoices(line: Line, position: string, finishes: ReadonlyMap<string, FinishAnswer>): Choices {
  const finishesAt = listAt(line, position, finishes);
  return {
    finish: finishesAt.map(({ finish }) => finish.finish),
    family: [...new Set(finishesAt.map(({ finish }) => finish.family))],
    tag: [...new Set(finishesAt.flatMap(({ finish }) => finish.tags ?? []))].sort(),
    grade: [...new Set(finishesAt.flatMap(({ grade }) => grade ?? []))].sort((a, b) =>
      a.localeCompare(b, 'en', { numeric: true }),
    ),
  };
}

function listAt(line: Line, position: string, finishes: ReadonlyMap<string, FinishAnswer>): RangedFinish[] {
  return [...listOptions({ position, options: null, fixed: false }, line, listRange(line, finishes))];
}

/** The message with which the service would refuse the rule; null if it is valid. */
export function findProblem(form: RuleForm, line: Line, finishes: ReadonlyMap<string, FinishAnswer>): string | null {
  try {
    readRules([toGivenRule(form)], line.positions, finishes);
    return null;
  } catch (error) {
    if (error instanceof Problem) return error.message;
    throw error;
  }
}

/** How many finishes at the position of a companion rule have a companion; null for other rules. */
export function countCompanions(
  { kind, when, target }: RuleForm,
  line: Line,
  finishes: ReadonlyMap<string, FinishAnswer>,
  articles: readonly Article[],
): number | null {
  if (kind !== 'companion') return null;
  const byCode = new Map(articles.map((article) => [foldCode(article.article), article]));
  return listAt(line, when.position, finishes).filter(
    ({ finish }) => findCompanion(finish, target.position, byCode) !== undefined,
  ).length;
}

/** The index of the rule that an error is about; null if it names none. */
export function readRuleIndex(where: string | undefined): number | null {
  const found = /^\/rules\/(\d+)(?:\/|$)/.exec(where ?? '');
  return found ? Number(found[1]) : null;
}
