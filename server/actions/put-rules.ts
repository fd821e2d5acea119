import { type GivenRule, readRules } from '../core/line/read-rules.ts';
import type { Rule } from '../core/line/rule.ts';
import type { Context } from './context.ts';
import { getLine } from './get-line.ts';
import { loadFinishes } from './load-product.ts';

/**
 * Stores the rules of a line whole. Schedules that break one are not changed: their products say so in their readiness.
 * @throws Problem `unknown-line-code`, and as `readRules`
 */
export async function putRules(
  context: Pick<Context, 'stores'>,
  code: string,
  given: readonly GivenRule[],
): Promise<readonly Rule[]> {
  const [line, finishes] = await Promise.all([getLine(context, code), loadFinishes(context)]);
  const rules = readRules(given, line.positions, finishes.byCode);
  await context.stores.putRules(line.line, rules);
  return rules;
}
