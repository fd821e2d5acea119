import { CODE_LENGTH, foldCode, NAME_LENGTH } from '../codes.ts';
import { explainConflict } from '../combinations/explain-conflict.ts';
import type { PairTable } from '../combinations/pair-table.ts';
import type { Finish } from '../finish/finish.ts';
import { Problem } from '../problems.ts';
import { describeConflict } from '../texts/choice-texts.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';
import { choiceOf, type Schedule, type Variant } from './schedule.ts';

/** What a name says of a slot that keeps the material the model came with. */
const AS_SUPPLIED = 'as supplied';

/** A combination: slots with their finishes, in the columns' order. */
export type Combination = readonly (readonly [slot: string, finish: Finish])[];

/**
 * Makes sure that there are slots to combine, and a finish for each.
 * @throws Problem `nothing-to-expand`
 */
export function needColumns(
  columns: readonly { readonly slot: string; readonly label: string; readonly finishes: readonly unknown[] }[],
): void {
  const empty = columns.filter(({ finishes }) => finishes.length === 0);
  if (columns.length > 0 && empty.length === 0) return;
  throw new Problem('nothing-to-expand', {
    detail: empty.length
      ? PRODUCT_PROBLEMS['nothing-to-expand'].noOptions(empty.map(({ label }) => `“${label}”`).join(', '))
      : PRODUCT_PROBLEMS['nothing-to-expand'].noSlot,
    received: empty.map(({ slot }) => slot),
  });
}

/**
 * Refuses where the rules leave no combination, with what leads to that.
 * @param fixed choices that are not to vary, by column
 * @throws Problem `nothing-to-expand`
 */
export function refuseNone(table: PairTable, fixed: ReadonlyMap<number, number> = new Map()): never {
  const conflict = explainConflict(table, fixed);
  throw new Problem('nothing-to-expand', {
    detail: PRODUCT_PROBLEMS['nothing-to-expand'].rules(
      conflict ? describeConflict(table, conflict) : null,
      fixed.size > 0,
    ),
    received: table.columns.filter((_, column) => !fixed.has(column)).map(({ key }) => key),
  });
}

/**
 * Makes variants of combinations that a schedule does not have yet, with codes and names of their own.
 * @param fallback choices in the slots that are not part of the combinations
 * @param pattern name with `{slot}` in the place of a finish's name
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

/**
 * Gives variants new names by a pattern, unlike those of the variants that keep theirs.
 * @param slots those a pattern may name
 * @param renamed folded codes of the variants
 * @param finishes by folded code
 */
export function renameRows(
  schedule: Schedule,
  slots: readonly string[],
  finishes: ReadonlyMap<string, Finish>,
  pattern: string,
  renamed: ReadonlySet<string>,
): Variant[] {
  const isRenamed = ({ code }: Variant) => renamed.has(foldCode(code));
  const nameRow = makeNamer(
    schedule.variants.filter((variant) => !isRenamed(variant)).map(({ name }) => name),
    ' ',
    NAME_LENGTH.max,
  );
  return schedule.variants.map((variant) => {
    if (!isRenamed(variant)) return variant;
    const names = slots.map((slot): [string, string] => {
      const finish = finishes.get(foldCode(choiceOf(variant.choices, slot) ?? ''));
      return [slot, finish?.name ?? AS_SUPPLIED];
    });
    return { ...variant, name: nameRow(fillIn(pattern, new Map(names))) };
  });
}

/** The name that is made where none is asked for: the finishes in the order of the slots. */
export function makePattern(slots: readonly string[]): string {
  return slots.map((slot) => `{${slot}}`).join(' / ');
}

function fillIn(pattern: string, names: ReadonlyMap<string, string>): string {
  const filled = pattern.replace(/\{([a-z0-9-]+)\}/g, (whole, slot: string) => names.get(slot) ?? whole);
  // room for a number behind it; cut between characters, never inside one
  return [...filled.normalize('NFC').trim()]
    .slice(0, NAME_LENGTH.max - 10)
    .join('')
    .trim();
}

function keyOf(choices: Readonly<Record<string, string>>): string {
  return Object.entries(choices)
    .map(([slot, finish]) => `${slot}=${foldCode(finish)}`)
    .sort()
    .join('&');
}

/** Room for a number behind a name that had to be cut. */
const NUMBER_ROOM = 10;

/**
 * Hands out names that are not taken, ignoring case, with a number behind where they are. It remembers where each name's
 * numbers got to: twenty thousand rows of one name would otherwise be counted through from the start each time.
 * @param limit characters a name may have; one that is numbered is cut to leave room
 */
export function makeNamer(taken: Iterable<string>, between: string, limit: number): (wanted: string) => string {
  const used = new Set([...taken].map((name) => name.toLowerCase()));
  const next = new Map<string, number>();
  return (wanted) => {
    const stem = wanted.toLowerCase();
    let candidate = wanted;
    let n = next.get(stem) ?? 2;
    for (; used.has(candidate.toLowerCase()); n++) {
      // cut between characters, never inside one
      candidate = `${[...wanted]
        .slice(0, limit - NUMBER_ROOM)
        .join('')
        .trim()}${between}${n}`;
    }
    next.set(stem, n);
    used.add(candidate.toLowerCase());
    return candidate;
  };
}
