import { CODE_LENGTH, foldCode, NAME_LENGTH } from '../codes.ts';
import type { Finish } from '../finish/finish.ts';
import type { Schedule, Variant } from './schedule.ts';

/** A combination: slots with their finishes, in the columns' order. */
export type Combination = readonly (readonly [slot: string, finish: Finish])[];

/** Used in a name for a slot that keeps the material of the model. */
export const AS_SUPPLIED = 'as supplied';

/**
 * Makes variants of the combinations that a schedule does not have yet, with new codes and names.
 * @param fallback choices in the slots that are not part of the combinations
 * @param pattern name with `{slot}` in place of a finish's name
 */
export function nameRows(
  standing: Schedule | null,
  fallback: Readonly<Record<string, string>>,
  combinations: readonly Combination[],
  pattern: string,
): Variant[] {
  const taken = standing?.variants ?? [];
  const known = new Set(taken.map((variant) => keyOf(variant.choices)));
  const nameCode = makeNamer(
    taken.map((variant) => variant.code),
    '-',
    CODE_LENGTH,
  );
  const nameRow = makeNamer(
    taken.map((variant) => variant.name),
    ' ',
    NAME_LENGTH.max,
  );
  return combinations.flatMap((chosen) => {
    const choices = { ...fallback, ...Object.fromEntries(chosen.map(([slot, finish]) => [slot, finish.finish])) };
    if (known.has(keyOf(choices))) return [];
    known.add(keyOf(choices));
    const names = new Map(chosen.map(([slot, finish]) => [slot, finish.name]));
    const codes = chosen.map(([, finish]) => finish.finish).join('-');
    return [{ code: nameCode(codes.slice(0, 56)), name: nameRow(fillIn(pattern, names)), choices }];
  });
}

/** The default name: the finishes in the order of the slots. */
export function makePattern(slots: readonly string[]): string {
  return slots.map((slot) => `{${slot}}`).join(' / ');
}

function fillIn(pattern: string, names: ReadonlyMap<string, string>): string {
  const filled = pattern.replace(/\{([a-z0-9-]+)\}/g, (whole, slot: string) => names.get(slot) ?? whole);
  return tidyName(filled);
}

/** A name as it is stored, with room for a number. */
export function tidyName(name: string): string {
  return leaveRoom(name.normalize('NFC').trim(), NAME_LENGTH.max);
}

/** The same for the same finishes in the same slots, in any order. */
export function keyOf(choices: Readonly<Record<string, string>>): string {
  return Object.entries(choices)
    .map(([slot, finish]) => `${slot}=${foldCode(finish)}`)
    .sort()
    .join('&');
}

/** Characters left for a number after a shortened name. */
const NUMBER_ROOM = 10;

/** Cuts a name so that a number fits after it. It cuts between characters, never inside one. */
export function leaveRoom(name: string, limit: number): string {
  // a text has at least as many code units as characters
  if (name.length <= limit - NUMBER_ROOM) return name.trim();
  return [...name]
    .slice(0, limit - NUMBER_ROOM)
    .join('')
    .trim();
}

/**
 * Makes unique names, ignoring case, by adding a number where a name is in use. It remembers the last number of each
 * name, so it does not count twenty thousand rows of one name from the start each time.
 * @param limit greatest length of a name; a numbered name is cut to fit
 */
export function makeNamer(taken: Iterable<string>, between: string, limit: number): (wanted: string) => string {
  const used = new Set([...taken].map((name) => name.toLowerCase()));
  const next = new Map<string, number>();
  return (wanted) => {
    const stem = wanted.toLowerCase();
    let candidate = wanted;
    let n = next.get(stem) ?? 2;
    for (; used.has(candidate.toLowerCase()); n++) {
      candidate = `${leaveRoom(wanted, limit)}${between}${n}`;
    }
    next.set(stem, n);
    used.add(candidate.toLowerCase());
    return candidate;
  };
}
