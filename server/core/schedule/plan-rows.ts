import { foldCode } from '../codes.ts';
import { type CheckSet, type CheckSetKind, planCheckSet } from '../combinations/plan-check-set.ts';
import { isSold, listOptions, listRange } from '../line/line.ts';
import { compileRules, type RuleScope, takesFinishes } from '../line/rules.ts';
import { Problem } from '../problems.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';
import { type Column, expandSchedule, needColumns, refuseNone } from './expand-schedule.ts';
import { makePattern, nameRows } from './name-rows.ts';
import { makePairTable } from './rule-effects.ts';
import { choiceOf, type Schedule, type Variant } from './schedule.ts';

/** Rows that a check set adds to a schedule, with names. */
export interface CheckRows {
  readonly planned: Omit<CheckSet, 'rows'>;
  readonly added: readonly Variant[];
}

/**
 * Plans the few variants that show every finish once, or every allowed pair of finishes once.
 * @param standing the schedule whose rows count as shown; null to plan the whole set
 * @throws Problem `nothing-to-expand`
 */
export function planCheckRows(scope: RuleScope, kind: CheckSetKind, standing: Schedule | null): CheckRows {
  const table = makePairTable(scope, { soldOnly: true });
  needColumns(table.columns.map(({ key, label, finishes }) => ({ slot: key, label, finishes })));
  const places = table.columns.map(({ finishes }) => new Map(finishes.map((finish, i) => [foldCode(finish), i])));
  const known = (standing?.variants ?? []).flatMap(({ choices }) => {
    const row = table.columns.map(({ key }, i) => places[i]!.get(foldCode(choiceOf(choices, key) ?? '')));
    return row.every((at) => at !== undefined) ? [row] : [];
  });
  const { rows, ...planned } = planCheckSet(table, kind, known);
  if (rows.length === 0 && planned.standing === 0) refuseNone(table);
  const combinations = rows.map((row) =>
    row.map((at, i) => {
      const { key, finishes } = table.columns[i]!;
      return [key, scope.finishes.get(foldCode(finishes[at]!))!] as const;
    }),
  );
  const pattern = makePattern(table.columns.map(({ key }) => key));
  return { planned, added: nameRows(standing, {}, combinations, pattern) };
}

export interface ExpandRequest {
  /** Template in which `{slot}` stands for the name of its finish. */
  readonly name?: string;
  /** Keys of the slots that vary. Default: all that change finish. */
  readonly slots?: readonly string[];
  readonly limit?: number;
}

/**
 * The rows of every combination that options and rules allow and that the schedule does not have. Planned and discontinued
 * finishes are left out.
 * @throws Problem `too-many-variants` with the count, `nothing-to-expand`, `unknown-slot`
 */
export function planExpansion(scope: RuleScope, request: ExpandRequest, standing: Schedule | null): readonly Variant[] {
  const columns = listColumns(scope, request.slots);
  const { schedule } = expandSchedule(standing, columns, request.name, request.limit, compileRules(scope));
  return schedule.variants.slice(standing?.variants.length ?? 0);
}

function listColumns({ slots, line, finishes }: RuleScope, wanted: readonly string[] | undefined): Column[] {
  const changing = slots.filter(takesFinishes);
  const unknown = wanted?.find((key) => !changing.some((slot) => slot.slot === key));
  if (unknown !== undefined) {
    throw new Problem('unknown-slot', {
      detail: PRODUCT_PROBLEMS['unknown-slot'].notChanging(
        unknown.slice(0, 80),
        changing.map((slot) => slot.slot),
      ),
      expected: changing.map((slot) => slot.slot),
      received: unknown.slice(0, 80),
      where: '/slots',
    });
  }
  const range = listRange(line, finishes);
  return changing
    .filter((slot) => wanted === undefined || wanted.includes(slot.slot))
    .map((slot) => ({
      slot: slot.slot,
      label: slot.label,
      finishes: listOptions(slot, line, range)
        .filter(({ status }) => isSold(status))
        .map(({ finish }) => finishes.get(foldCode(finish.finish))!),
    }));
}
