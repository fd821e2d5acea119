import type { CombinationCount } from '../core/combinations/count-combinations.ts';
import { describeRule, listOptions, listRange } from '../core/line/line.ts';
import { compileRules } from '../core/line/rules.ts';
import type { Planner } from '../core/ports/planner.ts';
import { Problem } from '../core/problems.ts';
import { listBreaches, type RuleEffects } from '../core/schedule/rule-effects.ts';
import { checkChoices } from '../core/schedule/schedule.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, packScope, toRuleScope } from './loaded-product.ts';
import { packStanding } from './packed-schedules.ts';
import { getTurn } from './turns.ts';

/**
 * Completes choices with those of the default variant, and checks that options and rules allow them.
 * @param given slot key to finish code
 * @throws Problem `unknown-slot`, `unknown-finish`, `finish-not-allowed`, `choice-forbidden`
 */
export async function completeChoices(
  { planner }: Pick<Context, 'planner'>,
  loaded: LoadedProduct,
  given: Readonly<Record<string, string>>,
): Promise<Record<string, string>> {
  const bySlot = new Map(loaded.slots.map((slot) => [slot.slot, slot]));
  const choices = checkChoices(given, bySlot, loaded.finishes.byCode, 'choice');
  refuseOutsideOptions(loaded, choices);
  const standing = loaded.schedule?.schedule;
  const byDefault = standing?.variants.find((variant) => variant.code === standing.default)?.choices ?? {};
  const all = { ...byDefault, ...choices };
  await refuseForbidden(planner, loaded, all, choices);
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
async function refuseForbidden(
  planner: Planner,
  loaded: LoadedProduct,
  all: Readonly<Record<string, string>>,
  chosen: Readonly<Record<string, string>>,
): Promise<void> {
  const breaches = listBreaches(all, compileRules(toRuleScope(loaded)));
  const breach = breaches.find(
    ({ rule }) => Object.hasOwn(chosen, rule.from.slot) || Object.hasOwn(chosen, rule.to.slot),
  );
  if (!breach) return;
  const { rule, from, to } = breach;
  const words = describeRule(rule.rule, loaded.line!.positions);
  const unnamed = [rule.from, rule.to].find(({ slot }) => !Object.hasOwn(chosen, slot));
  // the named choices may leave no finish for the other slots: then naming one would not help
  const none =
    unnamed && (await planner.run({ kind: 'none-left', scope: await packScope(loaded), chosen }, getTurn().signal));
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

interface CountedChoices {
  readonly counted: CombinationCount;
  /** Null unless the caller asks for it. */
  readonly effects: RuleEffects | null;
}

/**
 * Counts the valid variants of a product, with finishes on sale only. With `explain` it also lists the effects of the rules.
 * @param signal aborts when the caller leaves
 * @throws Problem `unknown-product`, `work-limit`
 */
export async function countChoices(
  context: Context,
  code: string,
  explain: boolean,
  signal?: AbortSignal,
): Promise<CountedChoices> {
  const loaded = await loadProduct(context, code);
  const standing = explain ? await packStanding(loaded.schedule?.schedule ?? null) : null;
  return context.planner.run(
    { kind: 'count', scope: await packScope(loaded), explain: explain ? { standing } : null },
    signal,
  );
}
