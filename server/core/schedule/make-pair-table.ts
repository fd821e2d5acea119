import type { ChoiceColumn, PairTable } from '../combinations/pair-compatibility.ts';
import { compileRules, type RuleScope, type SlotRule, takesFinishes } from '../line/compile-rules.ts';
import { isSold, listOptions, listRange } from '../line/options.ts';

export interface TableRequest {
  /** Leaves out finishes that are planned or discontinued. */
  readonly soldOnly?: boolean;
}

/** The table of a product's choices: a column for each slot that changes, with its options, and what the rules bar. */
export function makePairTable(scope: RuleScope, { soldOnly = false }: TableRequest = {}): PairTable {
  const range = listRange(scope.line, scope.finishes);
  const columns = scope.slots.filter(takesFinishes).map((slot): ChoiceColumn => {
    const options = listOptions(slot, scope.line, range).filter(({ status }) => !soldOnly || isSold(status));
    return { key: slot.slot, label: slot.label, finishes: options.map(({ finish }) => finish.finish) };
  });
  return barPairs(columns, compileRules(scope));
}

/** The table of given columns, by slot, with the pairs that rules bar; rules of slots that are no column say nothing. */
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
