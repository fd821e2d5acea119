import { foldCode } from '../codes.ts';
import { type Article, type Companions, type Finish, noFinish } from '../finish/finish.ts';
import { Problem } from '../problems.ts';
import type { Slot } from '../product/slot.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';
import type { Line, Place, Position, Rule } from './line.ts';

/** The part of a slot that rules and options need; only the number of primitives counts. */
export interface RuleSlot extends Pick<Slot, 'slot' | 'label' | 'position' | 'options' | 'fixed'> {
  readonly primitives: readonly unknown[];
}

/** The data that decides which finishes of one product go together. Finishes and articles are by folded code. */
export interface RuleScope {
  readonly slots: readonly RuleSlot[];
  /** Null for a product without a line, which has no rules. */
  readonly line: Line | null;
  readonly finishes: ReadonlyMap<string, Finish>;
  /** Without articles, only the finishes themselves have companions. */
  readonly articles?: ReadonlyMap<string, Article>;
}

/** A rule of the line that binds two slots of one product. */
export interface SlotRule {
  readonly rule: Rule;
  /** Index among the rules of the line. */
  readonly index: number;
  /** The slot at the rule's `when`. */
  readonly from: RuleSlot;
  /** The slot at the other position. */
  readonly to: RuleSlot;
  /** Whether the rule restricts a finish, by code, in `from`; without a restriction, every finish goes with it. */
  binds(from: string): boolean;
  /** Whether finishes, by code, in `from` and `to` are compatible. */
  allows(from: string, to: string): boolean;
  /** The only finish that may go in `to`; undefined where several may. */
  findFollower(from: string): string | undefined;
}

/** A slot takes part in rules when it changes finish and the current model has it. */
export function takesFinishes(slot: Pick<RuleSlot, 'fixed' | 'primitives'>): boolean {
  return !slot.fixed && slot.primitives.length > 0;
}

/** Whether a rule names a finish by its code, at either of its positions. */
export function namesFinish(rule: Rule, code: string): boolean {
  return [rule.when, targetOf(rule)].some(({ finish }) => finish !== undefined && foldCode(finish) === foldCode(code));
}

/** The other position of a rule. */
export function targetOf(rule: Rule): Place {
  if ('excludes' in rule) return rule.excludes;
  if ('requires' in rule) return rule.requires;
  return 'sameAs' in rule ? rule.sameAs : rule.companion;
}

/**
 * The rules of a line that bind a product: each once for every pair of changing slots at its positions. A rule does not
 * bind a product without such a slot at one of its positions.
 */
export function compileRules({ slots, line, finishes, articles = new Map() }: RuleScope): SlotRule[] {
  if (!line || line.rules.length === 0) return [];
  const byPosition = groupSlots(slots);
  const grades = new Map(line.range.map(({ finish, grade }) => [foldCode(finish), grade]));
  return line.rules.flatMap((rule, index) => {
    const starts = byPosition.get(rule.when.position) ?? [];
    const ends = byPosition.get(targetOf(rule).position) ?? [];
    if (starts.length === 0 || ends.length === 0) return [];
    const meaning = readMeaning(rule, finishes, articles, grades);
    return starts.flatMap((from) =>
      ends.filter((to) => to !== from).map((to): SlotRule => ({ rule, index, from, to, ...meaning })),
    );
  });
}

function groupSlots(slots: readonly RuleSlot[]): Map<string, RuleSlot[]> {
  const groups = new Map<string, RuleSlot[]>();
  for (const slot of slots) {
    if (slot.position === null || !takesFinishes(slot)) continue;
    const group = groups.get(slot.position);
    if (group) group.push(slot);
    else groups.set(slot.position, [slot]);
  }
  return groups;
}

function readMeaning(
  rule: Rule,
  finishes: ReadonlyMap<string, Finish>,
  articles: ReadonlyMap<string, Article>,
  grades: ReadonlyMap<string, string | undefined>,
): Pick<SlotRule, 'binds' | 'allows' | 'findFollower'> {
  const starts = makeMatcher(rule.when, finishes, grades);
  const none = () => undefined;
  if ('excludes' in rule) {
    const ends = makeMatcher(rule.excludes, finishes, grades);
    return { binds: starts, allows: (from, to) => !(starts(from) && ends(to)), findFollower: none };
  }
  if ('requires' in rule) {
    const ends = makeMatcher(rule.requires, finishes, grades);
    return { binds: starts, allows: (from, to) => !starts(from) || ends(to), findFollower: none };
  }
  const findFollower = (from: string): string | undefined => {
    if (!starts(from)) return undefined;
    const finish = finishes.get(foldCode(from));
    if ('sameAs' in rule) return finish?.finish ?? from;
    return finish && findCompanion(finish, rule.companion.position, articles);
  };
  return {
    binds: (from) => findFollower(from) !== undefined,
    allows: (from, to) => {
      const wanted = findFollower(from);
      return wanted === undefined || foldCode(wanted) === foldCode(to);
    },
    findFollower,
  };
}

/** Whether a place includes a finish, by code. Answers are cached: tables ask for the same few finishes many times. */
function makeMatcher(
  place: Place,
  finishes: ReadonlyMap<string, Finish>,
  grades: ReadonlyMap<string, string | undefined>,
): (code: string) => boolean {
  const known = new Map<string, boolean>();
  return (code) => {
    const before = known.get(code);
    if (before !== undefined) return before;
    const key = foldCode(code);
    const finish = finishes.get(key);
    const means =
      (place.finish === undefined || foldCode(place.finish) === key) &&
      (place.family === undefined || finish?.family === place.family) &&
      (place.tag === undefined || (finish?.tags?.includes(place.tag) ?? false)) &&
      (place.grade === undefined || grades.get(key) === place.grade);
    known.set(code, means);
    return means;
  };
}

/**
 * The finish that follows another at a position (thread, piping, zip): the finish's own companion, else that of its
 * article.
 * @param articles by folded code
 */
export function findCompanion(
  finish: Finish,
  position: string,
  articles: ReadonlyMap<string, Article>,
): string | undefined {
  const article = finish.article === undefined ? undefined : articles.get(foldCode(finish.article));
  return companionAt(finish.companions, position) ?? companionAt(article?.companions, position);
}

/** A position's key may be any word, even `constructor`. */
function companionAt(companions: Companions | undefined, position: string): string | undefined {
  return companions && Object.hasOwn(companions, position) ? companions[position] : undefined;
}

/** A rule as received: the shape is checked, the values are not. */
export interface GivenRule {
  readonly when: Place;
  readonly excludes?: Place;
  readonly requires?: Place;
  readonly sameAs?: { readonly position: string };
  readonly companion?: { readonly position: string };
}

const KINDS = ['excludes', 'requires', 'sameAs', 'companion'] as const;
const WAYS = ['finish', 'family', 'tag', 'grade'] as const;

/**
 * Makes rules from received ones; finish codes get their stored spelling.
 * @param finishes by folded code
 * @param where JSON pointer to the list
 * @throws Problem `invalid-rule`, `unknown-position`, `unknown-finish`
 */
export function readRules(
  given: readonly GivenRule[],
  positions: readonly Position[],
  finishes: ReadonlyMap<string, Pick<Finish, 'finish'>>,
  where = '/rules',
): Rule[] {
  return given.map((rule, i) => readRule(rule, positions, finishes, `${where}/${i}`));
}

function readRule(
  given: GivenRule,
  positions: readonly Position[],
  finishes: ReadonlyMap<string, Pick<Finish, 'finish'>>,
  where: string,
): Rule {
  const kinds = KINDS.filter((kind) => given[kind] !== undefined);
  const [kind] = kinds;
  if (kind === undefined || kinds.length > 1) {
    throw new Problem('invalid-rule', {
      detail: PRODUCT_PROBLEMS['invalid-rule'].oneKind(kinds),
      expected: KINDS,
      received: kinds,
      where,
    });
  }
  const readPlace = (place: Place, at: string): Place => {
    needPosition(place.position, positions, `${at}/position`);
    const ways = WAYS.filter((way) => place[way] !== undefined);
    if (ways.length > 1) {
      throw new Problem('invalid-rule', {
        detail: PRODUCT_PROBLEMS['invalid-rule'].oneWay(ways),
        expected: WAYS,
        received: ways,
        where: at,
      });
    }
    if (place.finish === undefined) return place;
    const finish = finishes.get(foldCode(place.finish));
    if (finish) return { ...place, finish: finish.finish };
    throw noFinish(place.finish, `${at}/finish`);
  };
  const when = readPlace(given.when, `${where}/when`);
  const target: Place = readPlace(given[kind]!, `${where}/${kind}`);
  if (when.position === target.position) {
    throw new Problem('invalid-rule', {
      detail: PRODUCT_PROBLEMS['invalid-rule'].samePosition(when.position),
      expected: positions.map(({ position }) => position).filter((position) => position !== when.position),
      received: when.position,
      where: `${where}/${kind}/position`,
    });
  }
  if (kind === 'sameAs') return { when, sameAs: { position: target.position } };
  if (kind === 'companion') return { when, companion: { position: target.position } };
  if (WAYS.every((way) => target[way] === undefined)) {
    throw new Problem('invalid-rule', {
      detail: PRODUCT_PROBLEMS['invalid-rule'].noFinishes(kind),
      expected: WAYS,
      received: target,
      where: `${where}/${kind}`,
    });
  }
  return kind === 'excludes' ? { when, excludes: target } : { when, requires: target };
}

function needPosition(position: string, positions: readonly Position[], where: string): void {
  if (positions.some((known) => known.position === position)) return;
  const known = positions.map((each) => each.position);
  throw new Problem('unknown-position', {
    detail: PRODUCT_PROBLEMS['unknown-position'].inRule(position, known),
    expected: known,
    received: position,
    where,
  });
}
