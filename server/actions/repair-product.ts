import type { ModelWork, RepairMode } from '../core/ports/models.ts';
import type { NewModel } from '../core/ports/stores.ts';
import { compareModels, type ModelChanges } from '../core/product/compare-models.ts';
import { claimByOrigin, type Matching } from '../core/product/match-slots.ts';
import { preparationOf, receivedRevisionOf } from '../core/product/product.ts';
import { type Claims, deriveSlots, type Slot } from '../core/product/slot.ts';
import type { Piece, Survey } from '../core/product/survey.ts';
import { addColours, addShapes } from '../core/repair/match-pieces.ts';
import { refuseBroken } from '../core/repair/refuse-broken.ts';
import { type Repair, type RepairReport, scaleSize, turnSize } from '../core/repair/repair.ts';
import { checkProduct, type Readiness } from './check-product.ts';
import type { Context } from './context.ts';
import { inTurns } from './in-turns.ts';
import { loadProduct } from './load-product.ts';
import { type LoadedProduct, listSlotsInUse, requireModel } from './loaded-product.ts';

/** The result of repairs, or of their preview. */
interface RepairedProduct {
  /** Null for a preview. */
  readonly revision: number | null;
  readonly sha256: string;
  readonly bytes: number;
  readonly reports: readonly RepairReport[];
  readonly survey: Survey;
  readonly slots: readonly Slot[];
  readonly readiness: Readiness;
  readonly changes: ModelChanges;
}

/**
 * Repairs the current model and stores the result as its next revision. It makes all repairs or none, and adds them to the
 * preparation of the product.
 * A preview shows the result, reports repairs that do not fit, and changes nothing.
 * @param options `signal`: aborted when the caller leaves; the repair then ends and changes nothing
 * @throws Problem `no-model`, `repair-unfit`, `repair-would-lose`, `repair-broke-model`, `stale-model`
 */
export async function repairProduct(
  context: Context,
  code: string,
  asked: readonly Repair[],
  { preview, signal }: { readonly preview: boolean; readonly signal?: AbortSignal },
): Promise<RepairedProduct> {
  const { stores, files } = context;
  const loaded = await loadProduct(context, code);
  const current = requireModel(loaded);
  const pieces = await stores.listPieces(code, current.revision);
  const repairs = completeAll(asked, loaded, pieces);
  const repaired = await makeRepairs(context, current, repairs, preview ? 'lenient' : 'strict', {
    product: code,
    signal,
  });
  const claims = claimByOrigin(loaded.slots, repaired.materialOrigins, repaired.survey);
  const derive = (known: readonly Slot[], inUse: ReadonlySet<string>) =>
    deriveSlots(repaired.survey, known, claims, inUse);
  const unchanged = repaired.sha256 === current.sha256;
  if (preview || unchanged) {
    await files.discard(repaired.path);
    const slots = unchanged ? loaded.slots : derive(loaded.slots, listSlotsInUse(loaded));
    return describe(context, loaded, pieces, repaired, slots, claims, unchanged && !preview ? current.revision : null);
  }
  await files.adopt(repaired.path, repaired.sha256);
  const made: NewModel = {
    sha256: repaired.sha256,
    bytes: repaired.bytes,
    receivedSha256: current.receivedSha256,
    origin: {
      kind: 'repaired',
      from: current.revision,
      received: receivedRevisionOf(current),
      reports: repaired.reports,
      preparation: [...preparationOf(current), ...repairs],
    },
    createdAt: context.now().toISOString(),
    survey: repaired.survey,
    pieces: repaired.pieces,
  };
  // the number of the current revision also tells the product from a later one with its code
  const { revision, slots } = await stores.addModel(code, made, {
    ifCurrent: current.revision,
    derive,
    preparation: (steps) => [...steps, ...repairs],
  });
  return describe(context, loaded, pieces, repaired, slots, claims, revision);
}

async function describe(
  context: Pick<Context, 'planner'>,
  loaded: LoadedProduct,
  pieces: readonly Piece[],
  repaired: RepairedModel,
  slots: readonly Slot[],
  claims: Claims,
  revision: number | null,
): Promise<RepairedProduct> {
  const current = loaded.model!;
  const { sha256, bytes, reports, survey } = repaired;
  const before = { survey: current.survey, pieces, bytes: current.bytes };
  const matching = matchByClaims(loaded.slots, claims, slots);
  const origin = { kind: 'repaired' as const, from: current.revision, received: 0, reports, preparation: [] };
  const model = { ...current, sha256, bytes, survey, origin };
  return {
    revision,
    sha256,
    bytes,
    reports,
    survey,
    slots,
    readiness: await checkProduct(context, { ...loaded, model, slots, pieces: repaired.pieces }),
    changes: await inTurns(compareModels(loaded.slots, before, { survey, pieces: repaired.pieces, bytes }, matching)),
  };
}

/** Matches slots with materials that a repair renamed or split: the slot continues with the new material. */
function matchByClaims(before: readonly Slot[], claims: Claims, after: readonly Slot[]): Matching {
  const live = after.filter((slot) => slot.primitives.length > 0);
  const drawn = new Set(live.flatMap((slot) => slot.materials));
  const matches = [...claims].flatMap(([material, slot]) =>
    drawn.has(material) ? [{ slot, material, by: 'name' as const }] : [],
  );
  const matched = new Set(matches.map(({ slot }) => slot));
  const taken = new Set(matches.map(({ material }) => material));
  return {
    matches,
    lost: before.filter((slot) => slot.primitives.length > 0 && !matched.has(slot.slot)).map((slot) => slot.slot),
    added: [...drawn].filter((material) => !taken.has(material)),
  };
}

/** Completes each repair with the size that the model has after the repairs before it. */
function completeAll(asked: readonly Repair[], loaded: LoadedProduct, pieces: readonly Piece[]): Repair[] {
  let size = loaded.model?.survey.size ?? null;
  return asked.map((repair) => {
    const whole = complete(repair, loaded, pieces, size?.heightMm);
    if (whole.repair === 'turn') size = size && turnSize(size, whole);
    if (whole.repair === 'scale' && size) {
      size = scaleSize(size, whole.factor ?? (whole.toHeightMm ?? size.heightMm) / size.heightMm);
    }
    return whole;
  });
}

/** Fills in values of the product and the model, so that the preparation can make the step on a later model as well. */
function complete(
  repair: Repair,
  { product }: LoadedProduct,
  pieces: readonly Piece[],
  heightMm: number | undefined,
): Repair {
  switch (repair.repair) {
    case 'place':
      return { ...repair, mount: repair.mount ?? product.mount };
    case 'scale':
      if (repair.factor === undefined || repair.seenHeightMm !== undefined || heightMm === undefined) return repair;
      return { ...repair, seenHeightMm: heightMm };
    case 'separate-pieces':
      return { ...repair, groups: addColours(addShapes(repair.groups, pieces), pieces) };
    case 'turn-outward': {
      if (!repair.pieces || repair.shapes) return repair;
      const named = new Set(repair.pieces);
      const shapes = pieces.flatMap(({ piece, shape }) => (named.has(piece) ? shape : []));
      return { ...repair, shapes: [...new Set(shapes)] };
    }
    default:
      return repair;
  }
}

/** A repaired and surveyed model in a temporary file. The caller adopts or discards the file. */
interface RepairedModel {
  readonly path: string;
  readonly sha256: string;
  readonly bytes: number;
  readonly survey: Survey;
  readonly pieces: readonly Piece[];
  readonly reports: readonly RepairReport[];
  readonly materialOrigins: readonly (number | null)[];
}

/**
 * Makes repairs on a stored model and surveys the result. A result with more errors of the glTF validator than the source is
 * refused.
 * @throws Problem `repair-unfit`, `repair-would-lose` (strict), `repair-broke-model`, `model-too-complex`
 */
export async function makeRepairs(
  { files, models }: Pick<Context, 'files' | 'models'>,
  source: { readonly sha256: string; readonly survey: Survey },
  repairs: readonly Repair[],
  mode: RepairMode,
  work: ModelWork,
): Promise<RepairedModel> {
  const path = await files.newTemporary();
  try {
    const sourcePath = files.getPath(source.sha256);
    const repaired = await models.repair({ sourcePath, targetPath: path, repairs, mode }, work);
    const { survey, pieces } = await models.survey(path, 'model/gltf-binary', work);
    refuseBroken(source.survey, survey);
    return { path, ...repaired, survey, pieces };
  } catch (error) {
    await files.discard(path);
    throw error;
  }
}
