import { countCombinations } from '../combinations/count-combinations.ts';
import { explainConflict } from '../combinations/explain-conflict.ts';
import { type PairTable, visitCombinations } from '../combinations/pair-table.ts';
import type { Finish } from '../finish/finish.ts';
import type { SlotRule } from '../line/rules.ts';
import { Problem } from '../problems.ts';
import { describeConflict } from '../texts/choice-texts.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';
import { makePattern, nameRows } from './name-rows.ts';
import { barPairs } from './rule-effects.ts';
import { choiceOf, refuseCount, type Schedule, VARIANT_LIMIT } from './schedule.ts';

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
