import { foldCode } from '../codes.ts';
import { sayFamily } from '../finish/families.ts';
import { canonical } from '../history/compare-values.ts';
import type { Line, Place, Position, RangeEntry, Rule } from './line.ts';

/** A rule in plain words, with the labels of its positions: “Seat” in … never goes with “Piping” in …. */
export function describeRule(rule: Rule, positions: readonly Position[]): string {
  const labels = new Map(positions.map(({ position, label }) => [position, label]));
  const name = (position: string) => `“${labels.get(position) ?? position}”`;
  const place = (given: Place) => `${name(given.position)} in ${sayFinishes(given)}`;
  if ('excludes' in rule) return `${place(rule.when)} never goes with ${place(rule.excludes)}`;
  if ('requires' in rule) return `${place(rule.when)} goes only with ${place(rule.requires)}`;
  const { when } = rule;
  const where = isAny(when) ? '' : `where ${name(when.position)} is in ${sayFinishes(when)}, `;
  if ('sameAs' in rule) return `${where}${name(rule.sameAs.position)} has the same finish as ${name(when.position)}`;
  return `${where}${name(rule.companion.position)} has the companion of the finish on ${name(when.position)}`;
}

function isAny({ finish, family, tag, grade }: Place): boolean {
  return finish === undefined && family === undefined && tag === undefined && grade === undefined;
}

function sayFinishes({ finish, family, tag, grade }: Place): string {
  if (finish !== undefined) return finish;
  if (family !== undefined) return `any ${sayFamily(family)}`;
  if (tag !== undefined) return `anything tagged “${tag}”`;
  return grade !== undefined ? `any finish of grade ${grade}` : 'any finish';
}

/** What differs between two states of a line, a sentence each: name, positions, range, rules, in this order. */
export function listLineChanges(before: Line, after: Line): string[] {
  const name = before.name === after.name ? [] : [`The name changed from “${before.name}” to “${after.name}”.`];
  return [
    ...name,
    ...listPositionChanges(before.positions, after.positions),
    ...listRangeChanges(before.range, after.range),
    ...listRuleChanges(before, after),
  ];
}

function listPositionChanges(before: readonly Position[], after: readonly Position[]): string[] {
  return compare(before, after, ({ position }) => position, {
    added: ({ label }) => `The position “${label}” was added.`,
    removed: ({ label }) => `The position “${label}” was removed.`,
    changed: (was, is) =>
      was.label === is.label
        ? `The options of the position “${is.label}” changed.`
        : `The position “${was.label}” was renamed “${is.label}”.`,
    moved: 'The order of the positions changed.',
  });
}

function listRangeChanges(before: readonly RangeEntry[], after: readonly RangeEntry[]): string[] {
  return compare(before, after, ({ finish }) => foldCode(finish), {
    added: ({ finish }) => `${finish} was added to the range.`,
    removed: ({ finish }) => `${finish} was removed from the range.`,
    changed: (was, is) => `${is.finish}: ${describeEntry(is)}; was ${describeEntry(was)}.`,
    moved: 'The order of the range changed.',
  });
}

function describeEntry({ status, grade, lastOrder, replacedBy }: RangeEntry): string {
  return [
    status,
    grade === undefined ? 'without grade' : `grade ${grade}`,
    ...(lastOrder === undefined ? [] : [`last order ${lastOrder}`]),
    ...(replacedBy === undefined ? [] : [`replaced by ${replacedBy}`]),
  ].join(', ');
}

/** A rule has no name of its own: one that was changed is one removed and one added. */
function listRuleChanges(before: Line, after: Line): string[] {
  const say = (line: Line) => (rule: Line['rules'][number]) => describeRule(rule, line.positions);
  return compare(before.rules, after.rules, canonical, {
    added: (rule) => `A rule was added: ${say(after)(rule)}.`,
    removed: (rule) => `A rule was removed: ${say(before)(rule)}.`,
    changed: () => '',
    moved: 'The order of the rules changed.',
  });
}

interface Words<Item> {
  readonly added: (item: Item) => string;
  readonly removed: (item: Item) => string;
  readonly changed: (was: Item, is: Item) => string;
  readonly moved: string;
}

function compare<Item>(
  before: readonly Item[],
  after: readonly Item[],
  keyOf: (item: Item) => string,
  words: Words<Item>,
): string[] {
  const was = new Map(before.map((item) => [keyOf(item), item]));
  const is = new Map(after.map((item) => [keyOf(item), item]));
  const kept = [...is.keys()].filter((key) => was.has(key));
  const keptBefore = [...was.keys()].filter((key) => is.has(key));
  return [
    ...[...is].filter(([key]) => !was.has(key)).map(([, item]) => words.added(item)),
    ...[...was].filter(([key]) => !is.has(key)).map(([, item]) => words.removed(item)),
    ...kept
      .filter((key) => canonical(was.get(key)) !== canonical(is.get(key)))
      .map((key) => words.changed(was.get(key)!, is.get(key)!)),
    ...(kept.every((key, at) => keptBefore[at] === key) ? [] : [words.moved]),
  ];
}
