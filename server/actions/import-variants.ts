import { foldCode } from '../core/codes.ts';
import type { Finish } from '../core/finish/finish.ts';
import { readFinish } from '../core/finish/read-finish.ts';
import { describeSupplied, nameSuppliedFinishes } from '../core/finish/supplied-material.ts';
import type { Author, Change } from '../core/history/history.ts';
import type { ModelVariants, VariantPart } from '../core/ports/models.ts';
import type { CurrentModel } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { claimByOrigin } from '../core/product/match-slots.ts';
import { preparationOf, receivedRevisionOf } from '../core/product/product.ts';
import { deriveSlots, type Slot } from '../core/product/slot.ts';
import { checkSchedule, type Schedule } from '../core/schedule/schedule.ts';
import { planScheduleFromVariants } from '../core/schedule/schedule-from-model-variants.ts';
import { REPAIR_PROBLEMS } from '../core/texts/problems/model.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, listSlotsInUse, requireModel } from './loaded-product.ts';
import { refuseBroken } from './repair-product.ts';

export interface ImportedVariants {
  /** Codes of the finishes its materials have become, or were already. */
  readonly finishes: readonly string[];
  readonly schedule: Schedule;
  /** The new revision, where parts of one material had to be told apart; null when the model stayed as it is. */
  readonly revision: number | null;
  /** Primitives with variants that draw nothing and have no slot: deliveries carry no variants of theirs. */
  readonly leftOut: number;
}

/**
 * Takes in the variants a model carries: every material that comes or goes becomes a finish that delivers it to the
 * letter, the variants become the schedule. Slots whose parts change take those finishes and no others; slots whose parts
 * never change are fixed, and keep the material they have. A line with a range of its own gets the finishes added to it.
 * All of it is worked out and checked before anything is stored.
 * @throws Problem `no-model`, `no-variants-to-take`, `schedule-in-the-way`, `too-many-variants`, `stale-model`
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
  if (model.survey.variants.length === 0) refuseNone(code, 'It names none.');
  if (!replace) refuseInTheWay(loaded);

  const targetPath = await files.newTemporary();
  try {
    const taken = await models.readVariants({
      sourcePath: files.getPath(model.sha256),
      targetPath,
      images: model.survey.images,
      primitives: loaded.slots.flatMap((slot) => slot.primitives),
    });
    if (!taken.parts.some(({ varies }) => varies)) refuseNone(code, 'None of those it names changes a material.');
    const split = taken.split && (await makeSplit(context, loaded, model, taken.split, targetPath));
    const finishes = makeFinishes(loaded, model, taken);
    const slots = split?.derive(loaded.slots, listSlotsInUse(loaded)) ?? loaded.slots;
    const finishOf = new Map(taken.materials.map(({ index }, at) => [index, finishes[at]!.finish.finish]));
    const planned = planScheduleFromVariants(
      taken.variants,
      taken.parts,
      (part) => findSlot(slots, part).slot,
      finishOf,
    );
    const byCode = new Map<string, Finish>(loaded.finishes.byCode);
    for (const { finish } of finishes) byCode.set(foldCode(finish.finish), finish);
    const changed = new Map(taken.parts.map((part) => [findSlot(slots, part).slot, changeFor(part, finishOf)]));
    const schedule = checkSchedule(
      planned,
      slots.map((slot) => changed.get(slot.slot)?.(slot) ?? slot),
      byCode,
    );

    for (const { bytes } of taken.materials) await files.putBytes(bytes);
    const change: Change = { ...author, how: 'taken-in', at: context.now().toISOString() };
    for (const { finish, known } of finishes) if (!known) await stores.putFinish(finish, change);
    let revision: number | null = null;
    if (split) {
      await files.adopt(targetPath, split.model.sha256);
      ({ revision } = await stores.addModel(code, split.model, { ifCurrent: model.revision, derive: split.derive }));
    }
    const codes = [...new Set(finishOf.values())];
    await extendRange(context, loaded, codes);
    for (const [slot, change] of changed) await stores.changeSlot(code, slot, change);
    await stores.putSchedule(code, schedule, loaded.schedule?.tag ?? null);
    return { finishes: codes, schedule, revision, leftOut: taken.leftOut };
  } finally {
    await files.discard(targetPath);
  }
}

/** The model in which parts of one material that change differently have materials, and so slots, of their own. */
async function makeSplit(
  { models, now }: Context,
  loaded: LoadedProduct,
  current: CurrentModel,
  { sha256, bytes, materialOrigins }: NonNullable<ModelVariants['split']>,
  path: string,
) {
  const { survey, pieces } = await models.survey(path, 'model/gltf-binary');
  refuseBroken(current.survey, survey);
  const claims = claimByOrigin(loaded.slots, materialOrigins, survey);
  const made = {
    sha256,
    bytes,
    survey,
    pieces,
    receivedSha256: current.receivedSha256,
    createdAt: now().toISOString(),
    // it is no step of a preparation: a new export carries variants of its own, and Dyeworks reads them from it again
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

/** One for every material, in its order; those that are the same material are the same finish. */
function makeFinishes(
  { finishes: { byCode, resolve } }: LoadedProduct,
  { survey }: CurrentModel,
  { materials }: ModelVariants,
): { readonly finish: Finish; readonly known: boolean }[] {
  // a finish that was changed since is not the material any more
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

/** What is to be said of a part's slot from now on. */
function changeFor(part: VariantPart, finishOf: ReadonlyMap<number, string>): (slot: Slot) => Slot {
  if (!part.varies) return (slot) => ({ ...slot, fixed: true });
  const worn = [part.own, ...part.byVariant].flatMap((material) => finishOf.get(material ?? -1) ?? []);
  return (slot) => ({ ...slot, fixed: false, options: { finishes: [...new Set(worn)] } });
}

/** A line with an empty range sells whatever is stored; one with a range sells what stands in it. */
async function extendRange({ stores }: Context, { line }: LoadedProduct, codes: readonly string[]): Promise<void> {
  if (!line || line.range.length === 0) return;
  const inRange = new Set(line.range.map(({ finish }) => foldCode(finish)));
  const added = codes.filter((code) => !inRange.has(foldCode(code)));
  if (added.length === 0) return;
  await stores.addToRange(line.line, added);
}

function refuseNone(code: string, why: string): never {
  throw new Problem('no-variants-to-take', {
    detail: REPAIR_PROBLEMS['no-variants-to-take'](code, why),
  });
}

function refuseInTheWay({ product, schedule }: LoadedProduct): void {
  const rows = schedule?.schedule.variants.length ?? 0;
  if (rows === 0) return;
  throw new Problem('schedule-in-the-way', {
    detail: REPAIR_PROBLEMS['schedule-in-the-way'](product.code, rows),
    received: rows,
  });
}
