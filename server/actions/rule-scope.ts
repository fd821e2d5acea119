import type { RuleScope } from '../core/line/compile-rules.ts';
import type { LoadedProduct } from './load-product.ts';

/** What decides which finishes of a loaded product go together. */
export function toRuleScope({ slots, line, finishes }: Pick<LoadedProduct, 'slots' | 'line' | 'finishes'>): RuleScope {
  return { slots, line, finishes: finishes.byCode, articles: finishes.articles };
}
