import { foldCode } from '../core/codes.ts';
import { compileRules, takesFinishes } from '../core/line/compile-rules.ts';
import { isSold, listOptions, listRange } from '../core/line/options.ts';
import type { TaggedSchedule } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { listMisnamed } from '../core/schedule/check-variants.ts';
import { type Column, expandSchedule } from '../core/schedule/expand-schedule.ts';
import { makePattern, renameRows } from '../core/schedule/name-rows.ts';
import { checkSchedule, type Schedule } from '../core/schedule/schedule.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, requireSchedule, toRuleScope, unknownVariant } from './loaded-product.ts';

/** Stores a schedule whole. @throws Problem as `checkSchedule`, and `stale-schedule` */
export async function putSchedule(
  context: Context,
  code: string,
  given: Schedule,
  ifTag: string | null,
): Promise<TaggedSchedule> {
  const { slots, finishes, schedule: standing } = await loadProduct(context, code);
  const schedule = checkSchedule(given, slots, finishes.byCode, standing?.schedule);
  return context.stores.putSchedule(code, schedule, ifTag);
}

export interface ExpandRequest {
  readonly name?: string;
  readonly slots?: readonly string[];
  readonly limit?: number;
}

/**
 * Adds every combination that options and rules allow after the rows that stand; discontinued and planned finishes are left out.
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

export interface RenameRequest {
  /** Name with `{slot}` in the place of a finish's name; all slots that change when absent. */
  readonly name?: string;
  /** Codes of the variants; all when absent. */
  readonly variants?: readonly string[];
  /** Only variants that are named after a finish they do not have. */
  readonly misnamed?: boolean;
}

/** Renames variants by a template. @throws Problem `no-schedule`, `unknown-variant`, `stale-schedule` */
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
 * Stores a schedule that was made from the one that was read. A change in between is stale even when the caller named no
 * tag.
 */
export function storeDerived(
  context: Context,
  { product, slots, finishes, schedule: standing }: LoadedProduct,
  grown: Schedule,
  ifTag: string | null,
): Promise<TaggedSchedule> {
  const checked = checkSchedule(grown, slots, finishes.byCode, standing?.schedule);
  return context.stores.putSchedule(product.code, checked, ifTag ?? standing?.tag ?? null);
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
