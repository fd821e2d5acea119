import { canonical } from '../canonical.ts';
import { foldCode } from '../codes.ts';
import { formatFamily } from '../finish/families.ts';
import type { Family, Finish, RangeStatus } from '../finish/finish.ts';
import { LINE_CHANGES } from '../texts/change-texts.ts';
import { RULE_TEXTS } from '../texts/choice-texts.ts';

/** The finishes that a position or slot may take: the union of the lists. Absent means the whole range. */
export interface Options {
  readonly finishes?: readonly string[];
  readonly families?: readonly Family[];
  readonly tags?: readonly string[];
  readonly grades?: readonly string[];
}

/** A place that products of a line share (seat, frame, shade). Its options are set once, for the whole line. */
export interface Position {
  readonly position: string;
  readonly label: string;
  readonly options?: Options;
}

/** A finish as the line sells it. */
export interface RangeEntry {
  readonly finish: string;
  /** Price grade, in the maker's own terms: A, B, C … */
  readonly grade?: string;
  readonly status: RangeStatus;
  /** Last day to order it, `yyyy-mm-dd`; for a finish in phase-out. */
  readonly lastOrder?: string;
  /** Code of the finish that replaces it. */
  readonly replacedBy?: string;
}

/** Products sold together, with their range and positions. */
export interface Line {
  readonly line: string;
  readonly name: string;
  readonly positions: readonly Position[];
  /** In the maker's order. */
  readonly range: readonly RangeEntry[];
  /** The rules between positions. */
  readonly rules: readonly Rule[];
}

/** The products of a line. @param line its code in the stored spelling, which products have too */
export function listProductsOf<T extends { readonly line: string | null }>(products: readonly T[], line: string): T[] {
  return products.filter((product) => product.line === line);
}

/** Finishes at a position, named in one way; a position alone means any finish there. */
export interface Place {
  readonly position: string;
  readonly finish?: string;
  readonly family?: Family;
  readonly tag?: string;
  /** Price grade in the line's range. */
  readonly grade?: string;
}

/**
 * A rule between two positions of a line, set once for all its products. It binds a product that has slots at both.
 * `excludes`: never together. `requires`: only together with one of those. `sameAs`: the very same finish.
 * `companion`: the finish that the finish at `when` names as its companion for that position (thread, piping, zip). A
 * finish without a companion leaves the position free.
 */
export type Rule = { readonly when: Place } & (
  | { readonly excludes: Place }
  | { readonly requires: Place }
  | { readonly sameAs: { readonly position: string } }
  | { readonly companion: { readonly position: string } }
);

/** Everything that refers to a finish. */
export interface WhereUsed {
  readonly finish: string;
  readonly lines: readonly LineUse[];
  readonly schedules: readonly { readonly product: string; readonly variants: number }[];
  /** Deliveries whose manifest lists it. */
  readonly deliveries: readonly { readonly product: string; readonly delivery: number }[];
  /** Finishes and articles that have it as a companion. */
  readonly companionOf: readonly {
    readonly finish?: string;
    readonly article?: string;
    readonly positions: string[];
  }[];
}

export interface LineUse {
  readonly line: string;
  readonly name: string;
  /** Null when the line's range does not contain the finish. */
  readonly status: RangeStatus | null;
  /** Positions whose options name it by its code. */
  readonly positions: readonly string[];
  /** Rules that name it by its code, in words. */
  readonly rules: readonly string[];
  /** Finishes of the range that it replaces. */
  readonly replaces: readonly string[];
}

export interface RangedFinish {
  readonly finish: Finish;
  readonly grade: string | null;
  readonly status: RangeStatus;
  /** As in the range. */
  readonly lastOrder?: string;
  readonly replacedBy?: string;
}

/**
 * The range of a line, in its order. A product without a line, or with a line whose range is empty, may have any stored
 * finish, with the finish's own status.
 */
export function listRange(line: Line | null, finishes: ReadonlyMap<string, Finish>): readonly RangedFinish[] {
  if (!line || line.range.length === 0) {
    let all = wholeLibraries.get(finishes);
    if (!all) {
      all = Array.from(finishes.values(), (finish) => ({ finish, grade: null, status: finish.status ?? 'current' }));
      wholeLibraries.set(finishes, all);
    }
    return all;
  }
  return line.range.flatMap((entry: RangeEntry) => {
    const finish = finishes.get(foldCode(entry.finish));
    if (!finish) return [];
    const { grade = null, status, lastOrder, replacedBy } = entry;
    return [{ finish, grade, status, ...(lastOrder && { lastOrder }), ...(replacedBy && { replacedBy }) }];
  });
}

/** By the finishes, of which there may be fifty thousand: every slot of a product without a line asks for them. */
const wholeLibraries = new WeakMap<ReadonlyMap<string, Finish>, readonly RangedFinish[]>();

/** Whether a finish of this status may be sold now. */
export function isSold(status: RangeStatus): boolean {
  return status === 'current' || status === 'phase-out';
}

/**
 * The finishes a slot may take: its position's options within the range, narrowed by the slot's own.
 * A fixed slot takes none.
 */
export function listOptions(
  slot: { readonly position: string | null; readonly options: Options | null; readonly fixed: boolean },
  line: Line | null,
  range: readonly RangedFinish[],
): readonly RangedFinish[] {
  if (slot.fixed) return [];
  const position = line?.positions.find((candidate) => candidate.position === slot.position);
  if (isOpen(position?.options) && isOpen(slot.options)) return range;
  return range.filter((item) => admits(position?.options, item) && admits(slot.options, item));
}

function isOpen(options: Options | undefined | null): options is undefined | null {
  return !options || Object.values(options).every((list) => list === undefined);
}

function admits(options: Options | undefined | null, { finish, grade }: RangedFinish): boolean {
  if (isOpen(options)) return true;
  return (
    (options.finishes?.some((code) => foldCode(code) === foldCode(finish.finish)) ?? false) ||
    (options.families?.includes(finish.family) ?? false) ||
    (options.tags?.some((tag) => finish.tags?.includes(tag)) ?? false) ||
    (grade !== null && (options.grades?.includes(grade) ?? false))
  );
}

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
  if (family !== undefined) return RULE_TEXTS.anyOfFamily(formatFamily(family));
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
