import type { PairTable } from '../combinations/pair-compatibility.ts';
import { listImpossibleChoices } from '../combinations/possible-choices.ts';
import { compileRules, type RuleScope, type SlotRule } from '../line/compile-rules.ts';
import { choiceOf, type Schedule } from './schedule.ts';

/** What the rules of a line do to one of its products. */
export interface RuleEffects {
  /** Combinations of the options, were there no rules. */
  readonly unruled: bigint;
  /** Rules that bind two of its slots, by their places in the line's list. */
  readonly binding: readonly number[];
  /** Rows of the schedule that break a rule. */
  readonly breaking: number;
  /** Why there is no valid combination at all; null where there is one. */
  readonly none: string | null;
  /** Finishes on offer that no valid combination holds. */
  readonly impossible: readonly {
    readonly slot: string;
    readonly label: string;
    readonly finish: string;
    readonly because: string;
  }[];
  /** How many more of those there are. */
  readonly more: number;
}

/** @param table what the scope comes to, as far as it counts */
export function listRuleEffects(scope: RuleScope, table: PairTable, schedule: Schedule | null): RuleEffects {
  const rules = compileRules(scope);
  const { none, choices, more } = listImpossibleChoices(table);
  return {
    unruled: table.columns.reduce((product, { finishes }) => product * BigInt(finishes.length), 1n),
    binding: [...new Set(rules.map(({ index }) => index))],
    breaking: (schedule?.variants ?? []).filter((variant) => listBreaches(variant.choices, rules).length > 0).length,
    none,
    impossible: choices.map(({ column, finish, because }) => {
      const { key, label, finishes } = table.columns[column]!;
      return { slot: key, label, finish: finishes[finish]!, because };
    }),
    more,
  };
}

/** Two choices of one combination that a rule does not allow together. */
export interface Breach {
  readonly rule: SlotRule;
  /** Finish in the slot at the rule's `when`, by code. */
  readonly from: string;
  readonly to: string;
}

/** The rules one combination breaks, in the line's order; slots without a choice break none. */
export function listBreaches(choices: Readonly<Record<string, string>>, rules: readonly SlotRule[]): Breach[] {
  return rules.flatMap((rule) => {
    const from = choiceOf(choices, rule.from.slot);
    const to = choiceOf(choices, rule.to.slot);
    return from === undefined || to === undefined || rule.allows(from, to) ? [] : [{ rule, from, to }];
  });
}
