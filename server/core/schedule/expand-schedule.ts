import { CODE_LENGTH, foldCode, NAME_LENGTH, RESERVED, toCode, toName } from '../codes.ts';
import { countCombinations } from '../combinations/count-combinations.ts';
import { explainConflict } from '../combinations/explain-conflict.ts';
import { type PairTable, visitCombinations } from '../combinations/pair-table.ts';
import type { Finish } from '../finish/finish.ts';
import type { SlotRule } from '../line/rules.ts';
import type { VariantPart } from '../ports/models.ts';
import { Problem } from '../problems.ts';
import { describeConflict } from '../texts/choice-texts.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';
import { barPairs } from './rule-effects.ts';
import { choiceOf, refuseCount, type Schedule, VARIANT_LIMIT, type Variant } from './schedule.ts';

/** A slot that varies, with the finishes it may take in the range's order. */
export interface Column {
  readonly slot: string;
  /** Its label for people; its key where it is left out. */
  readonly label?: string;
  readonly finishes: readonly Finish[];
}

interface Expansion {
  readonly schedule: Schedule;
  readonly added: number;
  readonly total: number;
}

/**
 * Adds every combination of the columns' finishes that the rules allow after the existing rows. It skips combinations
 * that are in a row already. Slots that are not columns take the choice of the default variant, which binds the columns
 * by the rules. If there would be more than `limit` rows in all, it adds none.
 * @param template variant name with `{slot}` in place of a finish's name; made of all columns when absent
 * @throws Problem `too-many-variants` with the count, `nothing-to-expand`
 */
export function expandSchedule(
  standing: Schedule | null,
  columns: readonly Column[],
  template: string | undefined,
  limit = VARIANT_LIMIT,
  rules: readonly SlotRule[] = [],
): Expansion {
  needColumns(columns.map(({ slot, label = slot, finishes }) => ({ slot, label, finishes })));
  const rows = standing?.variants.length ?? 0;
  const fallback = standing?.variants.find((variant) => variant.code === standing.default)?.choices ?? {};
  const combinations = listCombinations(columns, tableOf(columns, fallback, rules), limit);

  const pattern = template ?? makePattern(columns.map(({ slot }) => slot));
  const added = nameRows(standing, fallback, combinations, pattern);
  if (rows + added.length > limit) refuseCount(rows + added.length, limit);
  const variants = [...(standing?.variants ?? []), ...added];
  return {
    schedule: { default: standing?.default ?? variants[0]!.code, variants },
    added: added.length,
    total: variants.length,
  };
}

/** The columns, after a column with a single finish for each other slot that has a choice in the default variant. */
function tableOf(
  columns: readonly Column[],
  fallback: Readonly<Record<string, string>>,
  rules: readonly SlotRule[],
): PairTable {
  const varying = new Set(columns.map(({ slot }) => slot));
  const others = new Set(rules.flatMap(({ from, to }) => [from, to]).filter(({ slot }) => !varying.has(slot)));
  const settled = [...others].flatMap(({ slot, label }) => {
    const finish = choiceOf(fallback, slot);
    return finish === undefined ? [] : [{ key: slot, label, finishes: [finish] }];
  });
  const varied = columns.map(({ slot, label = slot, finishes }) => ({
    key: slot,
    label,
    finishes: finishes.map(({ finish }) => finish),
  }));
  return barPairs([...settled, ...varied], rules);
}

/** The valid combinations; the last column changes fastest, as in a printed table. */
function listCombinations(columns: readonly Column[], table: PairTable, limit: number): [string, Finish][][] {
  const product = columns.reduce((count, column) => count * BigInt(column.finishes.length), 1n);
  if (product > limit) {
    if (table.barred.size === 0) refuseCount(product, limit);
    const counted = countCombinations(table);
    if (counted.exact && counted.count > limit) refuseCount(counted.count, limit);
  }
  const settled = table.columns.length - columns.length;
  const listed: [string, Finish][][] = [];
  const end = visitCombinations(table, (chosen) => {
    listed.push(columns.map(({ slot, finishes }, i) => [slot, finishes[chosen[settled + i]!]!]));
    return listed.length <= limit;
  });
  if (end !== 'all') {
    throw new Problem('too-many-variants', {
      detail:
        end === 'enough'
          ? PRODUCT_PROBLEMS['too-many-variants'].more(limit)
          : PRODUCT_PROBLEMS['too-many-variants'].search,
      expected: limit,
      received: `more than ${listed.length - 1}`,
    });
  }
  if (listed.length === 0) {
    refuseNone(table, new Map(Array.from({ length: settled }, (_, column) => [column, 0])));
  }
  return listed;
}

/** Used in a name for a slot that keeps the material of the model. */
const AS_SUPPLIED = 'as supplied';

/** A combination: slots with their finishes, in the columns' order. */
export type Combination = readonly (readonly [slot: string, finish: Finish])[];

/**
 * Makes sure that there are slots to combine, and that each has a finish.
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
 * Refuses where the rules leave no combination, and gives the reason.
 * @param fixed choices that do not vary, by column
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

/**
 * Renames variants by a pattern. The new names differ from those of the variants that keep theirs.
 * @param slots the slots that a pattern may use
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

/** The default name: the finishes in the order of the slots. */
export function makePattern(slots: readonly string[]): string {
  return slots.map((slot) => `{${slot}}`).join(' / ');
}

function fillIn(pattern: string, names: ReadonlyMap<string, string>): string {
  const filled = pattern.replace(/\{([a-z0-9-]+)\}/g, (whole, slot: string) => names.get(slot) ?? whole);
  // leaves room for a number; cuts between characters, never inside one
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

/** Characters left for a number after a shortened name. */
const NUMBER_ROOM = 10;

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
      // cuts between characters, never inside one
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

/** Name of the row for the model's look before a choice, where none of its variants looks like that. */
const AS_SUPPLIED_NAME = 'As supplied';

/**
 * Makes a schedule of a model's own variants: a row for each, in the file's order, with its name; empty and repeated
 * names are numbered. The default is the first variant in which every part has its own material. Where there is no such
 * variant, a first row is added for the model as it arrived.
 * @param slotOf slot of a part that varies
 * @param finishOf finish of a material; glTF's default material has none, and its cell stays empty
 */
export function planScheduleFromVariants(
  variants: readonly string[],
  parts: readonly VariantPart[],
  slotOf: (part: VariantPart) => string,
  finishOf: ReadonlyMap<number, string>,
): Schedule {
  const varying = parts.filter(({ varies }) => varies).map((part) => ({ part, slot: slotOf(part) }));
  const nameRow = makeNamer([], ' ', NAME_LENGTH.max);
  const nameCode = makeNamer(RESERVED, '-', CODE_LENGTH);
  const makeRow = (name: string, getMaterial: (part: VariantPart) => number | null): Variant => {
    const choices = varying.flatMap(({ part, slot }) => {
      const finish = finishOf.get(getMaterial(part) ?? -1);
      return finish === undefined ? [] : [[slot, finish] as const];
    });
    return { code: nameCode(toCode(name) || 'variant'), name: nameRow(name), choices: Object.fromEntries(choices) };
  };
  const rows = variants.map((name, at) =>
    makeRow(toName(name) || `Variant ${at + 1}`, ({ byVariant }) => byVariant[at] ?? null),
  );
  const shown = variants.findIndex((_, at) => varying.every(({ part }) => part.byVariant[at] === part.own));
  if (shown >= 0) return { default: rows[shown]!.code, variants: rows };
  const first = makeRow(AS_SUPPLIED_NAME, ({ own }) => own);
  return { default: first.code, variants: [first, ...rows] };
}
