import { foldCode, isSameCode } from '../codes.ts';
import { explainConflict } from '../combinations/explain-conflict.ts';
import { type PairTable, RowSearch } from '../combinations/pair-table.ts';
import { describeRule, isSold, listOptions, listRange } from '../line/line.ts';
import { compileRules, type RuleScope, takesFinishes } from '../line/rules.ts';
import { CHOICE_TEXTS, describeConflict } from '../texts/choice-texts.ts';
import { barPairs, listBreaches } from './rule-effects.ts';
import { choiceOf } from './schedule.ts';

type Choices = Readonly<Record<string, string>>;

/** A conflict among the choices of one row, in a sentence. */
export interface Objection {
  /** The slots that the sentence mentions. */
  readonly slots: readonly string[];
  readonly message: string;
  /** The finish that solves it, where a rule requires a particular one. */
  readonly follow?: { readonly slot: string; readonly finish: string };
}

/** Explains whether rows and single choices are valid, and why not. */
interface ChoiceGuide {
  /**
   * The conflicts of a row: finishes that are not options or not sold, incompatible pairs, and otherwise a slot that
   * has no finish left. Empty when the row is valid and can be completed.
   */
  explainRow(choices: Choices): readonly Objection[];
  /** Whether the chosen finishes conflict. It does not look ahead: a row that cannot be completed has no conflict yet. */
  hasConflict(choices: Choices): boolean;
  /**
   * Reasons why finishes are not allowed in a slot with the other choices unchanged, by code as in the options.
   * Finishes without a reason are allowed.
   */
  listForbidden(choices: Choices, slot: string): ReadonlyMap<string, string>;
  /**
   * Why the other choices leave no finish for a slot. Null when they leave one, or when they conflict with each other.
   */
  explainNoneLeft(choices: Choices, slot: string): string | null;
}

/** Makes a guide for the choices of one product. It reads rules once and answers every question from small tables. */
export function makeChoiceGuide(scope: RuleScope): ChoiceGuide {
  const rules = compileRules(scope);
  const positions = scope.line?.positions ?? [];
  const range = listRange(scope.line, scope.finishes);
  const columns = scope.slots.filter(takesFinishes).map(({ slot, label, ...rest }) => {
    const options = listOptions(rest, scope.line, range);
    return {
      slot,
      label,
      options: new Map(options.map((option) => [foldCode(option.finish.finish), option])),
      all: options.map(({ finish }) => finish.finish),
      sold: options.filter(({ status }) => isSold(status)).map(({ finish }) => finish.finish),
    };
  });

  /** The sold finishes and the chosen ones. The slot `wide` has all its options, and the slot `without` is left out. */
  const makeTable = (choices: Choices, wide?: string, without?: string): PairTable =>
    barPairs(
      columns
        .filter(({ slot }) => slot !== without)
        .map(({ slot, label, all, sold }) => {
          const chosen = choiceOf(choices, slot);
          const offered = slot === wide ? all : sold;
          const known = chosen === undefined || slot === wide || offered.some((code) => isSameCode(code, chosen));
          return { key: slot, label, finishes: known ? offered : [...offered, chosen] };
        }),
      rules,
    );
  const fix = (table: PairTable, choices: Choices, except?: string) =>
    new Map(
      table.columns.flatMap(({ key, finishes }, column): [number, number][] => {
        const chosen = key === except ? undefined : choiceOf(choices, key);
        return chosen === undefined ? [] : [[column, finishes.findIndex((code) => isSameCode(code, chosen))]];
      }),
    );
  const isComplete = (choices: Choices, except?: string) =>
    columns.every(({ slot }) => slot === except || choiceOf(choices, slot) !== undefined);

  const listOutside = (choices: Choices): Objection[] =>
    columns.flatMap(({ slot, label, options }) => {
      const code = choiceOf(choices, slot);
      if (code === undefined) return [];
      const option = options.get(foldCode(code));
      if (!option) return [{ slots: [slot], message: CHOICE_TEXTS.notAnOption(label, code) }];
      if (option.status !== 'discontinued') return [];
      return [{ slots: [slot], message: CHOICE_TEXTS.discontinued(label, code, option.replacedBy) }];
    });

  const listBroken = (choices: Choices): Objection[] =>
    listBreaches(choices, rules).map(({ rule, from, to }) => {
      const follower = rule.findFollower(from);
      const offered = columns.find(({ slot }) => slot === rule.to.slot)?.options;
      return {
        slots: [rule.from.slot, rule.to.slot],
        message: CHOICE_TEXTS.ruleBroken(
          CHOICE_TEXTS.choice(rule.from.label, from),
          CHOICE_TEXTS.choice(rule.to.label, to),
          describeRule(rule.rule, positions),
        ),
        ...(follower !== undefined &&
          offered?.has(foldCode(follower)) && { follow: { slot: rule.to.slot, finish: follower } }),
      };
    });

  // the same few codes come in thousands of rows, so their spelling is folded once
  const fine = columns.map(() => new Map<string, boolean>());
  const isOffered = (at: number, code: string): boolean => {
    let answer = fine[at]!.get(code);
    if (answer === undefined) {
      const option = columns[at]!.options.get(foldCode(code));
      answer = option !== undefined && option.status !== 'discontinued';
      fine[at]!.set(code, answer);
    }
    return answer;
  };

  function hasConflict(choices: Choices): boolean {
    for (let at = 0; at < columns.length; at++) {
      const code = choiceOf(choices, columns[at]!.slot);
      if (code !== undefined && !isOffered(at, code)) return true;
    }
    return rules.length > 0 && listBreaches(choices, rules).length > 0;
  }

  const explainChosen = (choices: Choices) => [...listOutside(choices), ...listBroken(choices)];

  function explainRow(choices: Choices): Objection[] {
    const direct = explainChosen(choices);
    if (direct.length > 0 || isComplete(choices)) return direct;
    const table = makeTable(choices);
    const conflict = explainConflict(table, fix(table, choices));
    if (!conflict) return [];
    const last = conflict.steps.at(-1)?.column;
    const at = new Set([...conflict.choices.map(({ column }) => column), ...(last === undefined ? [] : [last])]);
    return [{ slots: [...at].map((column) => table.columns[column]!.key), message: describeConflict(table, conflict) }];
  }

  function explainNoneLeft(choices: Choices, slot: string): string | null {
    const others = makeTable(choices, undefined, slot);
    if (explainConflict(others, fix(others, choices))) return null;
    const table = makeTable(choices, slot);
    const conflict = explainConflict(table, fix(table, choices, slot));
    return conflict && describeConflict(table, conflict);
  }

  function listForbidden(choices: Choices, slot: string): ReadonlyMap<string, string> {
    const forbidden = new Map<string, string>();
    const column = columns.find((candidate) => candidate.slot === slot);
    if (!column) return forbidden;
    const bearing = rules.filter(({ from, to }) => from.slot === slot || to.slot === slot);
    for (const finish of column.all) {
      const [breach] = listBreaches({ ...choices, [slot]: finish }, bearing);
      if (!breach) continue;
      const { rule, from, to } = breach;
      const isFrom = rule.from.slot === slot;
      const other = isFrom ? CHOICE_TEXTS.choice(rule.to.label, to) : CHOICE_TEXTS.choice(rule.from.label, from);
      forbidden.set(finish, CHOICE_TEXTS.notWith(other, describeRule(rule.rule, positions)));
    }
    if (isComplete(choices, slot)) return forbidden;
    // with other slots still open, a finish may leave one of them without any
    const table = makeTable(choices, slot);
    const at = table.columns.findIndex(({ key }) => key === slot);
    const fixed = fix(table, choices, slot);
    const search = new RowSearch(table);
    const none = explainNoneLeft(choices, slot);
    for (const [finish, code] of column.all.entries()) {
      if (forbidden.has(code) || canComplete(search, new Map([...fixed, [at, finish]])) !== false) continue;
      const conflict = explainConflict(table, new Map([...fixed, [at, finish]]));
      // the other choices may conflict by themselves, without this finish
      const ours = conflict?.choices.some((choice) => choice.column === at);
      const message = ours ? describeConflict(table, conflict!) : none;
      if (message !== null) forbidden.set(code, message.replace(/\.$/, ''));
    }
    return forbidden;
  }

  return { explainRow, hasConflict, listForbidden, explainNoneLeft };
}

/** False when the choices cannot be completed; null when the search reached its limit. */
function canComplete(search: RowSearch, fixed: ReadonlyMap<number, number>): boolean | null {
  search.clear();
  for (const [column, finish] of fixed) if (!search.choose(column, finish)) return false;
  return search.complete(() => 0);
}
