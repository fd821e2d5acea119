import { foldCode } from '../codes.ts';
import { sayFamily } from '../finish/families.ts';
import { canonical } from '../history/compare-values.ts';
import { LINE_CHANGES } from '../texts/change-texts.ts';
import { RULE_TEXTS } from '../texts/choice-texts.ts';
import type { Line, Place, Position, Rule } from './line.ts';

/** A rule as a sentence, with the labels of its positions: “Seat” in … never goes with “Piping” in …. */
export function describeRule(rule: Rule, positions: readonly Position[]): string {
  const labels = new Map(positions.map(({ position, label }) => [position, label]));
  const name = (position: string) => RULE_TEXTS.position(labels.get(position) ?? position);
  const place = (given: Place) => RULE_TEXTS.place(name(given.position), describeFinishes(given));
  if ('excludes' in rule) return RULE_TEXTS.excludes(place(rule.when), place(rule.excludes));
  if ('requires' in rule) return RULE_TEXTS.requires(place(rule.when), place(rule.requires));
  const { when } = rule;
  const where = isAny(when) ? '' : RULE_TEXTS.where(name(when.position), describeFinishes(when));
  const follow =
    'sameAs' in rule
      ? RULE_TEXTS.sameAs(name(rule.sameAs.position), name(when.position))
      : RULE_TEXTS.companion(name(rule.companion.position), name(when.position));
  return where + follow;
}

function isAny({ finish, family, tag, grade }: Place): boolean {
  return finish === undefined && family === undefined && tag === undefined && grade === undefined;
}

function describeFinishes({ finish, family, tag, grade }: Place): string {
  if (finish !== undefined) return finish;
  if (family !== undefined) return RULE_TEXTS.anyOfFamily(sayFamily(family));
  if (tag !== undefined) return RULE_TEXTS.anyWithTag(tag);
  return grade !== undefined ? RULE_TEXTS.anyOfGrade(grade) : RULE_TEXTS.anyFinish;
}

/** The differences between two states of a line, a sentence each: name, positions, range, rules, in this order. */
export function listLineChanges(before: Line, after: Line): string[] {
  return [
    ...(before.name === after.name ? [] : [LINE_CHANGES.name(before.name, after.name)]),
    ...compare(before.positions, after.positions, ({ position }) => position, {
      added: ({ label }) => LINE_CHANGES.positionAdded(label),
      removed: ({ label }) => LINE_CHANGES.positionRemoved(label),
      changed: (was, is) =>
        was.label === is.label
          ? LINE_CHANGES.positionOptions(is.label)
          : LINE_CHANGES.positionRenamed(was.label, is.label),
      moved: LINE_CHANGES.positionsMoved,
    }),
    ...compare(before.range, after.range, ({ finish }) => foldCode(finish), {
      added: ({ finish }) => LINE_CHANGES.finishAdded(finish),
      removed: ({ finish }) => LINE_CHANGES.finishRemoved(finish),
      changed: (was, is) => LINE_CHANGES.finishChanged(is.finish, LINE_CHANGES.entry(was), LINE_CHANGES.entry(is)),
      moved: LINE_CHANGES.rangeMoved,
    }),
    // A rule has no name of its own: a changed rule is one removed and one added.
    ...compare(before.rules, after.rules, canonical, {
      added: (rule) => LINE_CHANGES.ruleAdded(describeRule(rule, after.positions)),
      removed: (rule) => LINE_CHANGES.ruleRemoved(describeRule(rule, before.positions)),
      changed: () => '',
      moved: LINE_CHANGES.rulesMoved,
    }),
  ];
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
