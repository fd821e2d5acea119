import { type CombinationCount, countCombinations } from '../../../../server/core/combinations/count-combinations.ts';
import { compileRules, type RuleScope } from '../../../../server/core/line/compile-rules.ts';
import { isSold, listOptions, listRange } from '../../../../server/core/line/options.ts';
import { barPairs } from '../../../../server/core/schedule/make-pair-table.ts';
import { choiceOf } from '../../../../server/core/schedule/schedule.ts';

/** Steps of counting while somebody waits at the window: well under a tenth of a second. Beyond them bounds are said. */
const WORK_LIMIT = 1_000_000;

/**
 * How many combinations expanding these slots makes, of what is sold and goes together. The other slots take what the
 * default variant has there, and bind these as the rules say.
 */
export function countExpansion(
  scope: RuleScope,
  varying: ReadonlySet<string>,
  byDefault: Readonly<Record<string, string>>,
): CombinationCount {
  if (varying.size === 0) return { count: 0n, exact: true };
  const range = listRange(scope.line, scope.finishes);
  const columns = scope.slots.flatMap((slot) => {
    const column = { key: slot.slot, label: slot.label };
    if (varying.has(slot.slot)) {
      const sold = listOptions(slot, scope.line, range).filter(({ status }) => isSold(status));
      return [{ ...column, finishes: sold.map(({ finish }) => finish.finish) }];
    }
    const settled = choiceOf(byDefault, slot.slot);
    return settled === undefined ? [] : [{ ...column, finishes: [settled] }];
  });
  return countCombinations(barPairs(columns, compileRules(scope)), WORK_LIMIT);
}
