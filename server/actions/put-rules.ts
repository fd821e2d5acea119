import { type GivenRule, readRules } from '../core/line/read-rules.ts';
import { getLine, writeOnLine } from './get-line.ts';
import { type ForFinishes, loadFinishes } from './load-product.ts';

/**
 * Stores the rules of a line whole. Schedules that break one are not changed: their products say so in their readiness.
 * @param ifTag tag of the line that the caller read; null when it does not mind what it overwrites
 * @throws Problem `unknown-line-code`, `stale-line`, and as `readRules`
 */
export async function putRules(
  context: ForFinishes,
  code: string,
  given: readonly GivenRule[],
  ifTag: string | null = null,
): Promise<void> {
  return writeOnLine(context, code, ifTag, async (before, tag) => {
    const { line, positions } = before ?? (await getLine(context, code));
    const { byCode } = await loadFinishes(context);
    await context.stores.putRules(line, readRules(given, positions, byCode), tag);
  });
}
