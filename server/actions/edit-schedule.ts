import { foldCode } from '../core/codes.ts';
import type { CheckSet, CheckSetKind } from '../core/combinations/plan-check-set.ts';
import { listRange } from '../core/line/line.ts';
import { takesFinishes } from '../core/line/rules.ts';
import type { TaggedSchedule } from '../core/ports/stores.ts';
import { ABSENT, requireExpected } from '../core/precondition.ts';
import { Problem } from '../core/problems.ts';
import type { Slot } from '../core/product/slot.ts';
import { listMisnamed } from '../core/schedule/check-names.ts';
import { makePattern } from '../core/schedule/name-rows.ts';
import type { CheckRows, ExpandRequest } from '../core/schedule/plan-rows.ts';
import { applyTemplate } from '../core/schedule/row-template.ts';
import {
  checkScheduleSliced,
  type GivenSchedule,
  type RowTemplate,
  type Schedule,
  type Variant,
} from '../core/schedule/schedule.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { inTurns } from './in-turns.ts';
import { indexFinishes } from './load-finishes.ts';
import { getProduct, loadProduct } from './load-product.ts';
import {
  type LoadedProduct,
  packScope,
  requireSameModel,
  requireSameProduct,
  requireSchedule,
  unknownVariant,
} from './loaded-product.ts';
import { packStanding, unpackSlowly } from './packed-schedules.ts';

/**
 * Replaces a schedule.
 * @param ifTag see `requireExpected`
 * @throws Problem as `checkSchedule`, and `unknown-product`, `stale-schedule`
 */
export async function putSchedule(
  { stores }: Pick<Context, 'stores'>,
  code: string,
  given: GivenSchedule,
  ifTag: string | null,
): Promise<TaggedSchedule> {
  for (let attempt = 1; ; attempt++) {
    const { id, product, standing, slots, finishes } = await stores.snapshot(async (at) => ({
      product: await getProduct({ stores: at }, code),
      id: (await at.getIdentity(code))!.id,
      standing: await at.getSchedule(code),
      slots: await at.listSlots(code),
      finishes: await at.listFinishes(),
    }));
    requireExpected('schedule', product.code, standing?.tag ?? null, ifTag);
    const index = await indexFinishes(finishes);
    const checked = await inTurns(checkScheduleSliced(given, slots, index, standing?.schedule));
    const written = await stores.writeSchedule(checked);
    const stored = await stores.transaction(async (tx) => {
      await requireSameProduct(tx, { id, product });
      if (describeKeys(slots) !== describeKeys(await tx.listSlots(code))) return null;
      const now = await tx.getSchedule(code);
      if (now?.tag !== standing?.tag && attempt < ATTEMPTS) return null;
      return tx.putSchedule(code, written, standing?.tag ?? ABSENT);
    });
    if (stored) return stored;
  }
}

/** Others may change a schedule while a long one is checked. It is checked again, up to this many times. */
const ATTEMPTS = 5;

/** What the check of a schedule depends on. Finishes are looked up again when it is stored. */
const describeKeys = (slots: readonly Slot[]): string => JSON.stringify(slots.map(({ slot, fixed }) => [slot, fixed]));

/**
 * Deletes a schedule, so that the product is as before its first one. Deliveries and approvals stay.
 * @param ifTag see `requireExpected`
 * @throws Problem `unknown-product`, `stale-schedule`, and `not-found` without a schedule
 */
export async function deleteSchedule(
  { stores }: Pick<Context, 'stores'>,
  code: string,
  ifTag: string | null,
): Promise<void> {
  await stores.transaction(async (tx) => {
    const product = await getProduct({ stores: tx }, code);
    const standing = await tx.getSchedule(code);
    requireExpected('schedule', product.code, standing?.tag ?? null, ifTag);
    if (!standing) throw noSchedule(product.code);
    await tx.deleteSchedule(code);
  });
}

/** The refusal of what needs a schedule, where none is stored. */
export function noSchedule(product: string): Problem {
  return new Problem('not-found', { detail: PRODUCT_PROBLEMS['not-found'].noSchedule(product) });
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
  signal?: AbortSignal,
): Promise<TaggedSchedule & { readonly added: number; readonly total: number }> {
  const loaded = await loadProduct(context, code);
  const standing = loaded.schedule?.schedule ?? null;
  const packed = await context.planner.run(
    { kind: 'expand', scope: await packScope(loaded), request, standing: await packStanding(standing) },
    signal,
  );
  const added = await unpackSlowly(packed);
  const own = standing?.template;
  // the first template that a product gets is that of its first expansion
  const template = own ?? (request.name === undefined ? undefined : { name: request.name });
  const named = request.name === undefined ? own : own && { ...own, name: request.name };
  const schedule = await addRows(loaded, added, named);
  const stored = await storeDerived(context, loaded, { ...schedule, ...(template && { template }) }, ifTag);
  return { ...stored, added: added.length, total: schedule.variants.length };
}

/** The schedule with rows after the existing ones, named by the template of the product if it has one. */
async function addRows(
  { schedule: tagged, slots, finishes }: LoadedProduct,
  added: readonly Variant[],
  template: RowTemplate | undefined,
): Promise<Schedule> {
  const standing = tagged?.schedule ?? null;
  const variants = [...(standing?.variants ?? []), ...added];
  const schedule: Schedule = { ...standing, default: standing?.default ?? variants[0]!.code, variants };
  if (!template || added.length === 0) return schedule;
  const changing = slots.filter(takesFinishes).map(({ slot }) => slot);
  const named = new Set(added.map((variant) => foldCode(variant.code)));
  const rows = await inTurns(applyTemplate(schedule, changing, finishes.byCode, template, named));
  return { ...schedule, default: standing?.default ?? rows[0]!.code, variants: rows };
}

interface RenameRequest {
  /**
   * Template in which `{slot}` stands for the name of its finish. Default: that of the schedule, else all slots whose finish
   * can change.
   */
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
  const range = listRange(line, finishes.byCode);
  const wrong = misnamed && (await inTurns(listMisnamed(schedule, slots, finishes.byCode, range)));
  const renamed = wrong ? new Set(wrong.map(({ variant }) => foldCode(variant)).filter((of) => asked.has(of))) : asked;
  const named = slots.filter(takesFinishes).map(({ slot }) => slot);
  const pattern = name ?? schedule.template?.name ?? makePattern(named);
  const rows = await inTurns(applyTemplate(schedule, named, finishes.byCode, { name: pattern }, renamed));
  return storeDerived(context, loaded, { ...schedule, variants: rows }, ifTag);
}

/**
 * Stores a schedule that was derived from the loaded one. If another call changed the schedule or the model in between, it is
 * refused, even if the caller stated no tag.
 */
async function storeDerived(
  { stores }: Pick<Context, 'stores'>,
  loaded: LoadedProduct,
  changed: Schedule,
  ifTag: string | null,
): Promise<TaggedSchedule> {
  const { product, slots, finishes, schedule: standing } = loaded;
  requireExpected('schedule', product.code, standing?.tag ?? null, ifTag);
  const checked = await inTurns(checkScheduleSliced(changed, slots, finishes.byCode, standing?.schedule));
  const written = await stores.writeSchedule(checked);
  return stores.transaction(async (tx) => {
    await requireSameModel(tx, loaded);
    return tx.putSchedule(product.code, written, standing?.tag ?? ABSENT);
  });
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
  signal?: AbortSignal,
): Promise<AddedCheckSet> {
  const loaded = await loadProduct(context, code);
  const standing = loaded.schedule?.schedule ?? null;
  const { added, planned } = await planCheckRows(context, loaded, kind, standing, signal);
  const stored = await storeDerived(context, loaded, await addRows(loaded, added, standing?.template), ifTag);
  return { ...stored, ...planned, added: added.length };
}

/** What `addCheckSet` would add; stores nothing. @throws Problem `nothing-to-expand` */
export async function planMissingRows(
  context: Context,
  code: string,
  kind: CheckSetKind,
  signal?: AbortSignal,
): Promise<Omit<CheckSet, 'rows'> & { readonly added: number }> {
  const loaded = await loadProduct(context, code);
  const { added, planned } = await planCheckRows(context, loaded, kind, loaded.schedule?.schedule ?? null, signal);
  return { ...planned, added: added.length };
}

/**
 * The rows that a check set adds to a schedule, with names, without storing them.
 * @param standing the schedule whose rows count as shown; null to plan the whole set
 * @param signal aborts when the caller leaves
 * @throws Problem `nothing-to-expand`, `too-many-variants`, `work-limit`
 */
export async function planCheckRows(
  { planner }: Pick<Context, 'planner'>,
  loaded: LoadedProduct,
  kind: CheckSetKind,
  standing: Schedule | null,
  signal?: AbortSignal,
): Promise<CheckRows> {
  const { planned, added } = await planner.run(
    { kind: 'check-set', scope: await packScope(loaded), of: kind, standing: await packStanding(standing) },
    signal,
  );
  return { planned, added: await unpackSlowly(added) };
}
