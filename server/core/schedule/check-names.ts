import { foldCode } from '../codes.ts';
import type { Finish } from '../finish/finish.ts';
import type { RangedFinish } from '../line/line.ts';
import { type RuleSlot, takesFinishes } from '../line/rules.ts';
import type { Slot } from '../product/slot.ts';
import { finish, SLICE, type Sliced } from '../slices.ts';
import { choiceOf, type Schedule, type Variant } from './schedule.ts';

/** Shorter names and codes are part of too many words to mean a finish. */
const SHORTEST = 3;

/** Number of words of the longest finish name that the check looks for. */
const MOST_WORDS = 8;

const WORD = /[\p{L}\p{N}]+/gu;

/** A variant whose name or code contains the name or code of a finish that it does not have. */
export interface Misnamed {
  readonly variant: string;
  readonly name: string;
  /** Name and code of that finish. */
  readonly says: string;
}

/** In slices. @param range the finishes whose names it looks for */
export function* listMisnamed(
  schedule: Schedule,
  slots: readonly Slot[],
  finishes: ReadonlyMap<string, Finish>,
  range: readonly RangedFinish[],
): Sliced<Misnamed[]> {
  const findSaid = compareWith(slots, finishes, yield* indexNames(range, yield* listHeads(schedule)));
  const found: Misnamed[] = [];
  for (const [row, variant] of schedule.variants.entries()) {
    if (row % SLICE === 0) yield;
    const says = findSaid(variant);
    if (says !== null) found.push({ variant: variant.code, name: variant.name, says });
  }
  return found;
}

/**
 * Makes the function that finds a finish in a variant's name or code that the variant does not have: its name and code, or
 * null.
 */
export function makeNameCheck(
  slots: readonly RuleSlot[],
  finishes: ReadonlyMap<string, Finish>,
  range: readonly RangedFinish[],
): (variant: Variant) => string | null {
  return compareWith(slots, finishes, finish(indexNames(range, null)));
}

function compareWith(
  slots: readonly RuleSlot[],
  finishes: ReadonlyMap<string, Finish>,
  named: ReadonlyMap<string, readonly Finish[]>,
): (variant: Variant) => string | null {
  const changing = slots.filter((slot) => takesFinishes(slot));
  return (variant) => {
    const given = changing.flatMap(({ slot }) => finishes.get(foldCode(choiceOf(variant.choices, slot) ?? '')) ?? []);
    const says = findOther(variant, given, named);
    return says ? `${says.name} (${says.finish})` : null;
  };
}

/** The first letters of every word in names and codes: they rule out most finishes of a large library at once. */
function* listHeads(schedule: Schedule): Sliced<Set<string>> {
  const heads = new Set<string>();
  for (const [row, { name, code }] of schedule.variants.entries()) {
    if (row % SLICE === 0) yield;
    for (const text of [name, code]) for (const { index } of text.matchAll(WORD)) heads.add(headOf(text.slice(index)));
  }
  return heads;
}

const headOf = (text: string) => text.slice(0, SHORTEST).toLowerCase();

/**
 * Finishes of a range by the words of each of their names and of their code; only those that begin with one of `heads`, the
 * first letters of all words where they are known.
 */
function* indexNames(range: readonly RangedFinish[], heads: ReadonlySet<string> | null): Sliced<Map<string, Finish[]>> {
  const named = new Map<string, Finish[]>();
  for (const [at, { finish }] of range.entries()) {
    if (at % SLICE === 0) yield;
    for (const text of new Set([finish.finish, finish.name, ...Object.values(finish.names ?? {})])) {
      if (heads && !heads.has(headOf(text))) continue;
      const key = toWords(text).join(' ');
      if (key.length < SHORTEST || !/\p{L}/u.test(key)) continue;
      const known = named.get(key);
      if (known) known.push(finish);
      else named.set(key, [finish]);
    }
  }
  return named;
}

/**
 * The first finish that the name or code mentions and the variant does not have. The longest run of words counts, so
 * that “Oak, smoked” is not taken for “Oak”. Words in the name of a finish that the variant does have mean nothing.
 */
function findOther(
  { name, code }: Variant,
  given: readonly Finish[],
  named: ReadonlyMap<string, readonly Finish[]>,
): Finish | undefined {
  for (const text of [name, code]) {
    const words = toWords(text);
    for (let from = 0; from < words.length; ) {
      const match = findLongest(words, from, named);
      if (!match) {
        from++;
        continue;
      }
      const run = words.slice(from, from + match.length);
      const isOwn =
        match.finishes.some((finish) => given.includes(finish)) ||
        given.some((finish) => run.every((word) => listWords(finish).has(word)));
      if (!isOwn) return match.finishes[0];
      from += match.length;
    }
  }
  return undefined;
}

const wordsOf = new WeakMap<Finish, ReadonlySet<string>>();

/** Every word of a finish's code and names. */
function listWords(finish: Finish): ReadonlySet<string> {
  const known = wordsOf.get(finish);
  if (known) return known;
  const all = new Set([finish.finish, finish.name, ...Object.values(finish.names ?? {})].flatMap(toWords));
  wordsOf.set(finish, all);
  return all;
}

function findLongest(words: readonly string[], from: number, named: ReadonlyMap<string, readonly Finish[]>) {
  for (let length = Math.min(MOST_WORDS, words.length - from); length > 0; length--) {
    const finishes = named.get(words.slice(from, from + length).join(' '));
    if (finishes) return { length, finishes };
  }
  return null;
}

function toWords(text: string): string[] {
  return text.normalize('NFC').toLowerCase().match(WORD) ?? [];
}
