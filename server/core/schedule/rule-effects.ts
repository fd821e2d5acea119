import { explainConflict, listPossibleFinishes } from '../combinations/explain-conflict.ts';
import type { Choice, ChoiceColumn, PairTable } from '../combinations/pair-table.ts';
import { isSold, listOptions, listRange } from '../line/line.ts';
import { compileRules, type RuleScope, type SlotRule, takesFinishes } from '../line/rules.ts';
import { NO_VARIANT_LEFT } from '../texts/answer-texts.ts';
import { describeConflict } from '../texts/choice-texts.ts';
import { choiceOf, type Schedule } from './schedule.ts';

/** The effects of the rules of a line on one of its products. */
export interface RuleEffects {
  /** Number of combinations of the options without any rules. */
  readonly unruled: bigint;
  /** Rules that bind two of its slots, by their indices in the line's list. */
  readonly binding: readonly number[];
  /** Rows of the schedule that break a rule. */
  readonly breaking: number;
  /** Why there is no valid combination; null where there is one. */
  readonly none: string | null;
  /** Finishes on offer that are in no valid combination. */
  readonly impossible: readonly {
    readonly slot: string;
    readonly label: string;
    readonly finish: string;
    readonly because: string;
  }[];
  /** Number of further impossible finishes. */
  readonly more: number;
}

/** @param table the choices of the product, as `makePairTable` makes them */
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
interface Breach {
  readonly rule: SlotRule;
  /** Finish in the slot at the rule's `when`, by code. */
  readonly from: string;
  readonly to: string;
}

/** The rules that one combination breaks, in the line's order. A slot without a choice breaks none. */
export function listBreaches(choices: Readonly<Record<string, string>>, rules: readonly SlotRule[]): Breach[] {
  return rules.flatMap((rule) => {
    const from = choiceOf(choices, rule.from.slot);
    const to = choiceOf(choices, rule.to.slot);
    return from === undefined || to === undefined || rule.allows(from, to) ? [] : [{ rule, from, to }];
  });
}

/** Why no valid variant contains the chosen finishes, by slot; null if one does. */
export function explainNoneLeft(scope: RuleScope, chosen: Readonly<Record<string, string>>): string | null {
  const table = makePairTable(scope);
  const fixed = table.columns.flatMap(({ key, finishes }, column): [number, number][] => {
    const finish = choiceOf(chosen, key);
    return finish === undefined ? [] : [[column, finishes.indexOf(finish)]];
  });
  const conflict = explainConflict(table, new Map(fixed));
  if (!conflict) return null;
  const next = conflict.choices.length === 0 ? NO_VARIANT_LEFT.never : NO_VARIANT_LEFT.chosen;
  return `${describeConflict(table, conflict)} ${next}`;
}

interface TableRequest {
  /** Leaves out finishes that are planned or discontinued. */
  readonly soldOnly?: boolean;
}

/**
 * The table of a product's choices: a column for each slot that changes, with its options, and the pairs that rules
 * bar.
 */
export function makePairTable(scope: RuleScope, { soldOnly = false }: TableRequest = {}): PairTable {
  const range = listRange(scope.line, scope.finishes);
  const columns = scope.slots.filter(takesFinishes).map((slot): ChoiceColumn => {
    const options = listOptions(slot, scope.line, range).filter(({ status }) => !soldOnly || isSold(status));
    return { key: slot.slot, label: slot.label, finishes: options.map(({ finish }) => finish.finish) };
  });
  return barPairs(columns, compileRules(scope));
}

/**
 * The table of given columns, by slot, with the pairs that rules bar. Rules for slots without a column have no effect.
 */
export function barPairs(columns: readonly ChoiceColumn[], rules: readonly SlotRule[]): PairTable {
  const at = new Map(columns.map(({ key }, i) => [key, i]));
  const barred = new Map<number, Uint8Array>();
  for (const rule of rules) {
    const from = at.get(rule.from.slot);
    const to = at.get(rule.to.slot);
    if (from === undefined || to === undefined) continue;
    const [a, b] = from < to ? [from, to] : [to, from];
    const key = a * columns.length + b;
    const width = columns[b]!.finishes.length;
    let pairs = barred.get(key);
    columns[from]!.finishes.forEach((start, i) => {
      if (!rule.binds(start)) return;
      columns[to]!.finishes.forEach((end, j) => {
        if (rule.allows(start, end)) return;
        pairs ??= new Uint8Array(columns[a]!.finishes.length * width).fill(1);
        pairs[from < to ? i * width + j : j * width + i] = 0;
      });
    });
    if (pairs) barred.set(key, pairs);
  }
  return { columns, barred };
}

/** A finish that is in no valid combination, and why. */
interface ImpossibleChoice extends Choice {
  readonly because: string;
}

interface ImpossibleChoices {
  /** Why there is no valid combination; null when there is one, or when the search reached its limit. */
  readonly none: string | null;
  /** Finishes that are in no valid combination. */
  readonly choices: readonly ImpossibleChoice[];
  /** Number of further finishes that are not listed. */
  readonly more: number;
}

/** Greatest number of explanations: a rule that excludes hundreds has the same reason for each. */
const MAX_LISTED = 40;

/** The choices on offer that rules exclude from every combination. */
export function listImpossibleChoices(table: PairTable, limit = MAX_LISTED): ImpossibleChoices {
  const { open } = listPossibleFinishes(table, new Map());
  if (table.columns.length > 0 && open.every((finishes) => finishes.length === 0)) {
    const conflict = explainConflict(table, new Map());
    return { none: conflict && describeConflict(table, conflict), choices: [], more: 0 };
  }
  const shut = table.columns.flatMap(({ finishes }, column) => {
    const possible = new Set(open[column]);
    return [...finishes.keys()].flatMap((finish) => (possible.has(finish) ? [] : [{ column, finish }]));
  });
  const choices = shut.slice(0, limit).flatMap((choice) => {
    const conflict = explainConflict(table, new Map([[choice.column, choice.finish]]));
    return conflict ? [{ ...choice, because: describeConflict(table, conflict) }] : [];
  });
  return { none: null, choices, more: shut.length - choices.length };
}
