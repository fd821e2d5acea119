import { type CombinationCount, countCombinations } from '../../../../server/core/combinations/count-combinations.ts';
import { isSold, listOptions, listRange } from '../../../../server/core/line/line.ts';
import { compileRules, type RuleScope } from '../../../../server/core/line/rules.ts';
import { barPairs } from '../../../../server/core/schedule/rule-effects.ts';
import { choiceOf } from '../../../../server/core/schedule/schedule.ts';

/** Steps of counting in the browser, well under 0.1 s. Beyond them, the count gives bounds only. */
const WORK_LIMIT = 1_000_000;

/**
 * How many valid combinations of finishes on sale these slots have. The other slots keep the finish of the default
 * variant, and rules apply to them too.
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
