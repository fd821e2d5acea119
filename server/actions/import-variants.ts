import { foldCode } from '../core/codes.ts';
import type { Finish } from '../core/finish/finish.ts';
import { readFinish } from '../core/finish/read-finish.ts';
import { describeSupplied, nameSuppliedFinishes } from '../core/finish/supplied-material.ts';
import type { Author, Change } from '../core/history/history.ts';
import type { ModelVariants, ModelWork, VariantPart } from '../core/ports/models.ts';
import type { CurrentModel, Stores } from '../core/ports/stores.ts';
import { ABSENT } from '../core/precondition.ts';
import { Problem } from '../core/problems.ts';
import { claimByOrigin } from '../core/product/match-slots.ts';
import { preparationOf, receivedRevisionOf } from '../core/product/product.ts';
import { deriveSlots, type Slot } from '../core/product/slot.ts';
import { refuseBroken } from '../core/repair/refuse-broken.ts';
import { checkScheduleSliced, type Schedule } from '../core/schedule/schedule.ts';
import { planScheduleFromVariants } from '../core/schedule/schedule-from-model-variants.ts';
import { FINISH_PROBLEMS } from '../core/texts/problems/finish.ts';
import { REPAIR_PROBLEMS } from '../core/texts/problems/model.ts';
import type { Context } from './context.ts';
import { inTurns } from './in-turns.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, listSlotsInUse, requireModel, requireSameModel } from './loaded-product.ts';
import { getTurn } from './turns.ts';

interface ImportedVariants {
  /** Codes of the finishes that its materials became, or already were. */
  readonly finishes: readonly string[];
  readonly schedule: Schedule;
  /** The new revision, if parts of one material need materials of their own; null if the model stays as it is. */
  readonly revision: number | null;
  /** Primitives with variants that draw nothing and have no slot. Deliveries do not contain these variants. */
  readonly leftOut: number;
}

/**
 * Imports the variants that a model contains (`KHR_materials_variants`). Every material that a variant switches becomes a
 * finish that delivers it unchanged, and the variants become the schedule. Slots with changing parts get these finishes as
 * their options; other slots become fixed and keep their material. If the line has a range of its own, the finishes join it.
 * Dyeworks plans and checks everything before it stores anything.
 * Then it stores all of it, or nothing if something that it was planned from has changed in the meantime.
 * @throws Problem `no-model`, `no-variants-to-take`, `schedule-in-the-way`, `too-many-variants`, `stale-model`,
 *   `stale-finishes`, `stale-schedule`, `unknown-product`
 */
export async function importVariants(
  context: Context,
  code: string,
  { replace }: { readonly replace: boolean },
  author: Author,
): Promise<ImportedVariants> {
  const { files, models, stores } = context;
  const loaded = await loadProduct(context, code);
  const model = requireModel(loaded);
  const { none, unchanging } = REPAIR_PROBLEMS['no-variants-to-take'];
  if (model.survey.variants.length === 0) throw new Problem('no-variants-to-take', { detail: none(code) });
  if (!replace) refuseExistingSchedule(loaded);

  const targetPath = await files.newTemporary();
  try {
    const asked = {
      sourcePath: files.getPath(model.sha256),
      targetPath,
      images: model.survey.images,
      primitives: loaded.slots.flatMap((slot) => slot.primitives),
    };
    const work = { product: loaded.product.code, signal: getTurn().signal };
    const found = await models.readVariants(asked, work);
    if (!found.parts.some(({ varies }) => varies)) {
      throw new Problem('no-variants-to-take', { detail: unchanging(code) });
    }
    const split = found.split && (await describeSplit(context, loaded, model, found.split, targetPath, work));
    const finishes = makeFinishes(loaded, model, found);
    const slots = split?.derive(loaded.slots, listSlotsInUse(loaded)) ?? loaded.slots;
    const finishOf = new Map(found.materials.map(({ index }, at) => [index, finishes[at]!.finish.finish]));
    const planned = planScheduleFromVariants(
      found.variants,
      found.parts,
      (part) => findSlot(slots, part).slot,
      finishOf,
    );
    const byCode = new Map<string, Finish>(loaded.finishes.byCode);
    for (const { finish } of finishes) byCode.set(foldCode(finish.finish), finish);
    const changed = new Map(found.parts.map((part) => [findSlot(slots, part).slot, changeFor(part, finishOf)]));
    const changedSlots = slots.map((slot) => changed.get(slot.slot)?.(slot) ?? slot);
    const schedule = await inTurns(checkScheduleSliced(planned, changedSlots, byCode));
    const writtenSchedule = await stores.writeSchedule(schedule);

    for (const { bytes } of found.materials) await files.putBytes(bytes);
    if (split) await files.adopt(targetPath, split.model.sha256);
    const change: Change = { ...author, how: 'taken-in', at: context.now().toISOString() };
    const codes = [...new Set(finishOf.values())];
    const revision = await stores.transaction(async (tx) => {
      await requireSameModel(tx, loaded);
      await requireSameFinishes(tx, loaded, finishes);
      for (const { finish, known } of finishes) if (!known) await tx.putFinish(finish, change);
      const use = split && { ifCurrent: model.revision, derive: split.derive };
      const added = split && (await tx.addModel(code, split.model, use));
      await extendRange(tx, loaded, codes);
      for (const [slot, change] of changed) await tx.changeSlot(code, slot, change);
      await tx.putSchedule(code, writtenSchedule, loaded.schedule?.tag ?? ABSENT);
      return added?.revision ?? null;
    });
    return { finishes: codes, schedule, revision, leftOut: found.leftOut };
  } finally {
    await files.discard(targetPath);
  }
}

/** The new revision, in which parts of one material that change differently have materials and slots of their own. */
async function describeSplit(
  { models, now }: Context,
  loaded: LoadedProduct,
  current: CurrentModel,
  { sha256, bytes, materialOrigins }: NonNullable<ModelVariants['split']>,
  path: string,
  work: ModelWork,
) {
  const { survey, pieces } = await models.survey(path, 'model/gltf-binary', work);
  refuseBroken(current.survey, survey);
  const claims = claimByOrigin(loaded.slots, materialOrigins, survey);
  const made = {
    sha256,
    bytes,
    survey,
    pieces,
    receivedSha256: current.receivedSha256,
    createdAt: now().toISOString(),
    // this is no step of the preparation: a new export contains its own variants, and a new import splits it again
    origin: {
      kind: 'repaired' as const,
      from: current.revision,
      received: receivedRevisionOf(current),
      reports: [],
      preparation: preparationOf(current),
    },
  };
  return {
    model: made,
    derive: (known: readonly Slot[], inUse: ReadonlySet<string>) => deriveSlots(survey, known, claims, inUse),
  };
}

/** One finish for every material, in the same order. Equal materials get the same finish. */
function makeFinishes(
  { finishes: { byCode, resolve } }: LoadedProduct,
  { survey }: CurrentModel,
  { materials }: ModelVariants,
): { readonly finish: Finish; readonly known: boolean }[] {
  // a finish that a person changed since its import is no longer equal to the material
  const asSupplied = new Map(
    [...byCode].map(([key, finish]): [string, Finish] => {
      if (!finish.supplied || resolve(finish.finish).suppliedChange === null) return [key, finish];
      const { supplied: _, ...changed } = finish;
      return [key, changed];
    }),
  );
  const named = nameSuppliedFinishes(materials, asSupplied);
  return materials.map(({ index, sha256, extensions }, at) => {
    const { code, name, known } = named[at]!;
    const stored = known ? byCode.get(foldCode(code)) : undefined;
    if (stored) return { finish: stored, known };
    const described = describeSupplied(survey.materials[index]!, survey.images, extensions);
    const { colour, roughness, metal } = described;
    const supplied = { file: sha256, says: { hex: colour.hex, roughness, metal } };
    return { finish: readFinish(code, { name, ...described, supplied }, null), known };
  });
}

function findSlot(slots: readonly Slot[], { material }: VariantPart): Slot {
  const slot = slots.find(({ materials, primitives }) => primitives.length > 0 && materials.includes(material));
  if (!slot) throw new Error(`material ${material} draws triangles and has no slot`);
  return slot;
}

/** The change that the import makes to the slot of a part. */
function changeFor(part: VariantPart, finishOf: ReadonlyMap<number, string>): (slot: Slot) => Slot {
  if (!part.varies) return (slot) => ({ ...slot, fixed: true });
  const shown = [part.own, ...part.byVariant].flatMap((material) => finishOf.get(material ?? -1) ?? []);
  return (slot) => ({ ...slot, fixed: false, options: { finishes: [...new Set(shown)] } });
}

/**
 * The finishes of the import are still as they were planned: those that exist are unchanged, and no other has the code of a
 * new one.
 * @throws Problem `stale-finishes`
 */
async function requireSameFinishes(
  tx: Stores,
  { finishes: { byCode } }: LoadedProduct,
  planned: readonly { readonly finish: Finish }[],
): Promise<void> {
  for (const { finish } of planned) {
    const stored = await tx.getFinish(finish.finish);
    if ((stored?.revision ?? null) === (byCode.get(foldCode(finish.finish))?.revision ?? null)) continue;
    throw new Problem('stale-finishes', {
      detail: FINISH_PROBLEMS['stale-finishes'].model(finish.finish),
      received: finish.finish,
    });
  }
}

/** Adds finishes to the range of the line. An empty range stays empty: it already stands for all stored finishes. */
async function extendRange(tx: Stores, loaded: LoadedProduct, codes: readonly string[]): Promise<void> {
  const line = loaded.line && (await tx.getLine(loaded.line.line));
  if (!line || line.range.length === 0) return;
  const inRange = new Set(line.range.map(({ finish }) => foldCode(finish)));
  const added = codes.filter((code) => !inRange.has(foldCode(code)));
  if (added.length === 0) return;
  await tx.addToRange(line.line, added);
}

function refuseExistingSchedule({ product, schedule }: LoadedProduct): void {
  const rows = schedule?.schedule.variants.length ?? 0;
  if (rows === 0) return;
  throw new Problem('schedule-in-the-way', {
    detail: REPAIR_PROBLEMS['schedule-in-the-way'](product.code, rows),
    received: rows,
  });
}
