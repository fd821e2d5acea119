import { countCombinations } from '../combinations/count-combinations.ts';
import { type PairTable, visitCombinations } from '../combinations/pair-table.ts';
import type { Finish } from '../finish/finish.ts';
import type { SlotRule } from '../line/rules.ts';
import { Problem } from '../problems.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';
import { makePattern, nameRows, needColumns, refuseNone } from './name-rows.ts';
import { barPairs } from './rule-effects.ts';
import { choiceOf, refuseCount, type Schedule, VARIANT_LIMIT } from './schedule.ts';

/** A slot that is to vary, with the finishes it may take in the range's order. */
export interface Column {
  readonly slot: string;
  /** What people call it; its key where it is left out. */
  readonly label?: string;
  readonly finishes: readonly Finish[];
}

export interface Expansion {
  readonly schedule: Schedule;
  readonly added: number;
  readonly total: number;
}

/**
 * Adds every combination of the columns' finishes that the rules allow after the rows that stand; combinations that are
 * there already are left as they are. Slots not among the columns take what the default variant has there, and bind the
 * columns as the rules say. Over `limit` rows in all, nothing is added.
 * @param template variant name with `{slot}` in the place of a finish's name; made of all columns when absent
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

/** The columns behind one of a single finish for each other slot that the default variant has a choice in. */
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

/** The valid combinations, the last column changing quickest, as one reads a table. */
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
