import { foldCode } from '../core/codes.ts';
import { type CheckSet, type CheckSetKind, planCheckSet } from '../core/combinations/plan-check-set.ts';
import type { TaggedSchedule } from '../core/ports/stores.ts';
import { makePairTable } from '../core/schedule/make-pair-table.ts';
import { nameRows, needColumns, refuseNone } from '../core/schedule/name-rows.ts';
import { choiceOf, type Schedule } from '../core/schedule/schedule.ts';
import { storeDerived } from './change-schedule.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, toRuleScope } from './loaded-product.ts';

export type AddedCheckSet = TaggedSchedule & Omit<CheckSet, 'rows'> & { readonly added: number };

/**
 * Adds the few variants that show every finish once, or every two finishes that may meet; rows that stand count as shown.
 * @throws Problem `nothing-to-expand`, `too-many-variants`, `stale-schedule`
 */
export async function addCheckSet(
  context: Context,
  code: string,
  kind: CheckSetKind,
  ifTag: string | null,
): Promise<AddedCheckSet> {
  const loaded = await loadProduct(context, code);
  const standing = loaded.schedule?.schedule ?? null;
  const { added, planned } = planCheckRows(loaded, kind, standing);
  const variants = [...(standing?.variants ?? []), ...added];
  const schedule = { default: standing?.default ?? variants[0]!.code, variants };
  const stored = await storeDerived(context, loaded, schedule, ifTag);
  return { ...stored, ...planned, added: added.length };
}

/** What `addCheckSet` would add; stores nothing. @throws Problem `nothing-to-expand` */
export async function planMissingRows(
  context: Context,
  code: string,
  kind: CheckSetKind,
): Promise<Omit<CheckSet, 'rows'> & { readonly added: number }> {
  const loaded = await loadProduct(context, code);
  const { added, planned } = planCheckRows(loaded, kind, loaded.schedule?.schedule ?? null);
  return { ...planned, added: added.length };
}

/**
 * The rows a check set adds to those that stand, named but not stored.
 * @throws Problem `nothing-to-expand`, `too-many-variants`
 */
export function planCheckRows(loaded: LoadedProduct, kind: CheckSetKind, standing: Schedule | null) {
  const table = makePairTable(toRuleScope(loaded), { soldOnly: true });
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
      return [key, loaded.finishes.byCode.get(foldCode(finishes[at]!))!] as const;
    }),
  );
  const pattern = table.columns.map(({ key }) => `{${key}}`).join(' / ');
  return { planned, added: nameRows(standing, {}, combinations, pattern) };
}
