import { type CombinationCount, countCombinations } from '../core/combinations/count-combinations.ts';
import { explainConflict } from '../core/combinations/explain-conflict.ts';
import { describeRule, listOptions, listRange } from '../core/line/line.ts';
import { compileRules } from '../core/line/rules.ts';
import { Problem } from '../core/problems.ts';
import { listBreaches, listRuleEffects, makePairTable, type RuleEffects } from '../core/schedule/rule-effects.ts';
import { checkChoices, choiceOf } from '../core/schedule/schedule.ts';
import { NO_VARIANT_LEFT } from '../core/texts/answer-texts.ts';
import { describeConflict } from '../core/texts/choice-texts.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, toRuleScope } from './loaded-product.ts';

/**
 * Completes choices with those of the default variant, and checks that options and rules allow them.
 * @param given slot key to finish code
 * @throws Problem `unknown-slot`, `unknown-finish`, `finish-not-allowed`, `choice-forbidden`
 */
export function completeChoices(
  loaded: LoadedProduct,
  given: Readonly<Record<string, string>>,
): Record<string, string> {
  const bySlot = new Map(loaded.slots.map((slot) => [slot.slot, slot]));
  const choices = checkChoices(given, bySlot, loaded.finishes.byCode, 'choice');
  refuseOutsideOptions(loaded, choices);
  const standing = loaded.schedule?.schedule;
  const byDefault = standing?.variants.find((variant) => variant.code === standing.default)?.choices ?? {};
  const all = { ...byDefault, ...choices };
  refuseForbidden(loaded, all, choices);
  return all;
}

function refuseOutsideOptions(loaded: LoadedProduct, choices: Readonly<Record<string, string>>): void {
  const range = listRange(loaded.line, loaded.finishes.byCode);
  for (const [key, code] of Object.entries(choices)) {
    const slot = loaded.slots.find((candidate) => candidate.slot === key)!;
    const allowed = listOptions(slot, loaded.line, range).map((item) => item.finish.finish);
    if (!allowed.includes(code)) {
      throw new Problem('finish-not-allowed', {
        detail: PICTURE_PROBLEMS['finish-not-allowed'](code, slot.label),
        expected: allowed.slice(0, 50),
        received: code,
        where: `choice=${key}:${code}`,
      });
    }
  }
}

/** Refuses a broken rule that involves a named choice. Within the default variant alone, a finding of the schedule reports it. */
function refuseForbidden(
  loaded: LoadedProduct,
  all: Readonly<Record<string, string>>,
  chosen: Readonly<Record<string, string>>,
): void {
  const breaches = listBreaches(all, compileRules(toRuleScope(loaded)));
  const breach = breaches.find(
    ({ rule }) => Object.hasOwn(chosen, rule.from.slot) || Object.hasOwn(chosen, rule.to.slot),
  );
  if (!breach) return;
  const { rule, from, to } = breach;
  const words = describeRule(rule.rule, loaded.line!.positions);
  const unnamed = [rule.from, rule.to].find(({ slot }) => !Object.hasOwn(chosen, slot));
  // the named choices may leave no finish for the other slots: then naming one would not help
  const none = unnamed && explainNoneLeft(loaded, chosen);
  throw new Problem('choice-forbidden', {
    detail: PICTURE_PROBLEMS['choice-forbidden'](
      { finish: from, label: rule.from.label },
      { finish: to, label: rule.to.label },
      words,
      { unnamed: unnamed?.label ?? null, conflict: none ?? null },
    ),
    expected: words,
    received: { [rule.from.slot]: from, [rule.to.slot]: to },
    where: `choice=${rule.to.slot}:${to}`,
  });
}

/** Why no valid variant contains the named choices; null if one does. */
function explainNoneLeft(loaded: LoadedProduct, chosen: Readonly<Record<string, string>>): string | null {
  const table = makePairTable(toRuleScope(loaded));
  const fixed = table.columns.flatMap(({ key, finishes }, column): [number, number][] => {
    const finish = choiceOf(chosen, key);
    return finish === undefined ? [] : [[column, finishes.indexOf(finish)]];
  });
  const conflict = explainConflict(table, new Map(fixed));
  if (!conflict) return null;
  const next = conflict.choices.length === 0 ? NO_VARIANT_LEFT.never : NO_VARIANT_LEFT.chosen;
  return `${describeConflict(table, conflict)} ${next}`;
}

interface CountedChoices {
  readonly counted: CombinationCount;
  /** Null unless the caller asks for it. */
  readonly effects: RuleEffects | null;
}

/**
 * Counts the valid variants of a product, with finishes on sale only. With `explain` it also lists the effects of the rules.
 * @throws Problem `unknown-product`
 */
export async function countChoices(context: Context, code: string, explain: boolean): Promise<CountedChoices> {
  const loaded = await loadProduct(context, code);
  const scope = toRuleScope(loaded);
  const table = makePairTable(scope, { soldOnly: true });
  const schedule = loaded.schedule?.schedule ?? null;
  return { counted: countCombinations(table), effects: explain ? listRuleEffects(scope, table, schedule) : null };
}
