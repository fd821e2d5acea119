import { foldCode } from '../core/codes.ts';
import { type CheckSet, type CheckSetKind, planCheckSet } from '../core/combinations/plan-check-set.ts';
import { isSold, listOptions, listRange } from '../core/line/line.ts';
import { compileRules, takesFinishes } from '../core/line/rules.ts';
import type { TaggedSchedule } from '../core/ports/stores.ts';
import { ABSENT, requireExpected } from '../core/precondition.ts';
import { Problem } from '../core/problems.ts';
import { listMisnamed } from '../core/schedule/check-variants.ts';
import { type Column, expandSchedule, needColumns, refuseNone } from '../core/schedule/expand-schedule.ts';
import { makePattern, nameRows, renameRows } from '../core/schedule/name-rows.ts';
import { makePairTable } from '../core/schedule/rule-effects.ts';
import { checkSchedule, choiceOf, type Schedule } from '../core/schedule/schedule.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { indexFinishes } from './edit-line.ts';
import { getProduct, loadProduct } from './load-product.ts';
import {
  type LoadedProduct,
  requireSameModel,
  requireSchedule,
  toRuleScope,
  unknownVariant,
} from './loaded-product.ts';

/**
 * Replaces a schedule.
 * @param ifTag see `requireExpected`
 * @throws Problem as `checkSchedule`, and `unknown-product`, `stale-schedule`
 */
export async function putSchedule(
  { stores }: Pick<Context, 'stores'>,
  code: string,
  given: Schedule,
  ifTag: string | null,
): Promise<TaggedSchedule> {
  return stores.transaction(async (tx) => {
    const product = await getProduct({ stores: tx }, code);
    const standing = await tx.getSchedule(code);
    requireExpected('schedule', product.code, standing?.tag ?? null, ifTag);
    const [slots, finishes] = [await tx.listSlots(code), indexFinishes(await tx.listFinishes())];
    return tx.putSchedule(code, checkSchedule(given, slots, finishes, standing?.schedule), null);
  });
}

interface ExpandRequest {
  readonly name?: string;
  readonly slots?: readonly string[];
  readonly limit?: number;
}

/**
 * Adds every combination that options and rules allow after the existing rows. It leaves out planned and discontinued finishes.
 * @throws Problem `too-many-variants` with the count, `nothing-to-expand`, `unknown-slot`, `stale-schedule`
 */
export async function expandProductSchedule(
  context: Context,
  code: string,
  request: ExpandRequest,
  ifTag: string | null,
): Promise<TaggedSchedule & { readonly added: number; readonly total: number }> {
  const loaded = await loadProduct(context, code);
  const columns = listColumns(loaded, request.slots);
  const { schedule, added, total } = expandSchedule(
    loaded.schedule?.schedule ?? null,
    columns,
    request.name,
    request.limit,
    compileRules(toRuleScope(loaded)),
  );
  const stored = await storeDerived(context, loaded, schedule, ifTag);
  return { ...stored, added, total };
}

interface RenameRequest {
  /** Template in which `{slot}` stands for the name of its finish. Default: all slots whose finish can change. */
  readonly name?: string;
  /** Codes of the variants. Default: all. */
  readonly variants?: readonly string[];
  /** Only variants whose name mentions a finish that they do not have. */
  readonly misnamed?: boolean;
}

/** Renames variants with a template. @throws Problem `no-schedule`, `unknown-variant`, `stale-schedule` */
export async function renameVariants(
  context: Context,
  code: string,
  { name, variants, misnamed = false }: RenameRequest,
  ifTag: string | null,
): Promise<TaggedSchedule> {
  const loaded = await loadProduct(context, code);
  const { slots, line, finishes } = loaded;
  const schedule = requireSchedule(loaded);
  const known = new Set(schedule.variants.map((variant) => foldCode(variant.code)));
  const unknown = variants?.find((variant) => !known.has(foldCode(variant)));
  if (unknown !== undefined) throw unknownVariant(loaded.product, unknown);
  const asked = variants ? new Set(variants.map(foldCode)) : known;
  const wrong = misnamed && listMisnamed(schedule, slots, finishes.byCode, listRange(line, finishes.byCode));
  const renamed = wrong ? new Set(wrong.map(({ variant }) => foldCode(variant)).filter((of) => asked.has(of))) : asked;
  const named = slots.filter(takesFinishes).map(({ slot }) => slot);
  const rows = renameRows(schedule, named, finishes.byCode, name ?? makePattern(named), renamed);
  return storeDerived(context, loaded, { ...schedule, variants: rows }, ifTag);
}

/**
 * Stores a schedule that was derived from the loaded one. If another call changed the schedule or the model in between, it is
 * refused, even if the caller stated no tag.
 */
function storeDerived(
  { stores }: Pick<Context, 'stores'>,
  loaded: LoadedProduct,
  changed: Schedule,
  ifTag: string | null,
): Promise<TaggedSchedule> {
  const { product, slots, finishes, schedule: standing } = loaded;
  requireExpected('schedule', product.code, standing?.tag ?? null, ifTag);
  const checked = checkSchedule(changed, slots, finishes.byCode, standing?.schedule);
  return stores.transaction(async (tx) => {
    await requireSameModel(tx, loaded);
    return tx.putSchedule(product.code, checked, standing?.tag ?? ABSENT);
  });
}

function listColumns(loaded: LoadedProduct, wanted: readonly string[] | undefined): Column[] {
  const changing = loaded.slots.filter(takesFinishes);
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
  const range = listRange(loaded.line, loaded.finishes.byCode);
  return changing
    .filter((slot) => wanted === undefined || wanted.includes(slot.slot))
    .map((slot) => ({
      slot: slot.slot,
      label: slot.label,
      finishes: listOptions(slot, loaded.line, range)
        .filter(({ status }) => isSold(status))
        .map(({ finish }) => loaded.finishes.byCode.get(foldCode(finish.finish))!),
    }));
}

type AddedCheckSet = TaggedSchedule & Omit<CheckSet, 'rows'> & { readonly added: number };

/**
 * Adds the few variants that show every finish once, or every allowed pair of finishes once. Existing rows count as shown.
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
 * The rows that a check set adds to a schedule, with names, without storing them.
 * @param standing the schedule whose rows count as shown; null to plan the whole set
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
  const pattern = makePattern(table.columns.map(({ key }) => key));
  return { planned, added: nameRows(standing, {}, combinations, pattern) };
}
