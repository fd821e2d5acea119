import { type CombinationCount, countCombinations } from '../core/combinations/count-combinations.ts';
import { makePairTable } from '../core/schedule/make-pair-table.ts';
import { listRuleEffects, type RuleEffects } from '../core/schedule/rule-effects.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { toRuleScope } from './loaded-product.ts';

export interface CountedChoices {
  readonly counted: CombinationCount;
  /** Null unless asked for. */
  readonly effects: RuleEffects | null;
}

/**
 * How many valid variants a product has, of finishes that are sold; on request also what its rules do.
 * @throws Problem `unknown-product`
 */
export async function countChoices(context: Context, code: string, explain: boolean): Promise<CountedChoices> {
  const loaded = await loadProduct(context, code);
  const scope = toRuleScope(loaded);
  const table = makePairTable(scope, { soldOnly: true });
  const schedule = loaded.schedule?.schedule ?? null;
  return { counted: countCombinations(table), effects: explain ? listRuleEffects(scope, table, schedule) : null };
}
