import { foldCode } from '../../../../server/core/codes.ts';
import type { Article } from '../../../../server/core/finish/finish.ts';
import { findCompanion, targetOf } from '../../../../server/core/line/compile-rules.ts';
import type { Line, Place, Rule } from '../../../../server/core/line/line.ts';
import { listOptions, listRange, type RangedFinish } from '../../../../server/core/line/options.ts';
import { type GivenRule, readRules } from '../../../../server/core/line/read-rules.ts';
import { Problem } from '../../../../server/core/problems.ts';
import type { FinishAnswer } from '../../../../server/http/contracts/finish.ts';

/** How finishes are named at a position; `any` is the position alone. */
export const WAYS = ['any', 'finish', 'family', 'tag', 'grade'] as const;
export type Way = (typeof WAYS)[number];

export const KINDS = ['excludes', 'requires', 'sameAs', 'companion'] as const;
export type Kind = (typeof KINDS)[number];

export interface PlaceForm {
  readonly position: string;
  readonly way: Way;
  /** Code, family, tag or grade; empty for any. */
  readonly value: string;
}

/** A rule as it stands in its selects. */
export interface RuleForm {
  readonly when: PlaceForm;
  readonly kind: Kind;
  readonly target: PlaceForm;
}

/** What can be named at a position, by way; what nothing there has is left out. */
export type Choices = Readonly<Record<Exclude<Way, 'any'>, readonly string[]>>;

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

/** A rule to start from: the first two positions, with the first thing that can be named at each. */
export function startForm(line: Line, finishes: ReadonlyMap<string, FinishAnswer>): RuleForm {
  const [first, second = first] = line.positions.map(({ position }) => position);
  const when = movePlace({ position: '', way: 'family', value: '' }, first ?? '', line, finishes);
  return {
    when,
    kind: 'excludes',
    target: movePlace({ position: '', way: 'family', value: '' }, second ?? '', line, finishes),
  };
}

/** Goes to another position; what cannot be named there gives way to what can. */
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

/** Names finishes in another way, beginning with the first there is. */
export function nameBy(place: PlaceForm, way: Way, choices: Choices): PlaceForm {
  return { ...place, way, value: way === 'any' ? '' : (choices[way][0] ?? '') };
}

/** @param finishes by folded code */
export function listChoices(line: Line, position: string, finishes: ReadonlyMap<string, FinishAnswer>): Choices {
  const there = listAt(line, position, finishes);
  return {
    finish: there.map(({ finish }) => finish.finish),
    family: [...new Set(there.map(({ finish }) => finish.family))],
    tag: [...new Set(there.flatMap(({ finish }) => finish.tags ?? []))].sort(),
    grade: [...new Set(there.flatMap(({ grade }) => grade ?? []))].sort((a, b) =>
      a.localeCompare(b, 'en', { numeric: true }),
    ),
  };
}

function listAt(line: Line, position: string, finishes: ReadonlyMap<string, FinishAnswer>): RangedFinish[] {
  return listOptions({ position, options: null, fixed: false }, line, listRange(line, finishes));
}

/** What keeps the rule from being stored, in the words the service would use; null when nothing does. */
export function findTrouble(form: RuleForm, line: Line, finishes: ReadonlyMap<string, FinishAnswer>): string | null {
  try {
    readRules([toGivenRule(form)], line.positions, finishes);
    return null;
  } catch (error) {
    if (error instanceof Problem) return error.message;
    throw error;
  }
}

/** What a rule of companions rests on: how many finishes at its position name one. Null for other rules. */
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

/** Which rule an error of the service is about, by its place in the list; null when it says none. */
export function readPlaceOfRule(where: string | undefined): number | null {
  const found = /^\/rules\/(\d+)(?:\/|$)/.exec(where ?? '');
  return found ? Number(found[1]) : null;
}
