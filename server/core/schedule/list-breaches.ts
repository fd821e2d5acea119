import type { SlotRule } from '../line/compile-rules.ts';
import { choiceOf } from './schedule.ts';

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
