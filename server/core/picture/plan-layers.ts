import { type ResolvedFinish, toLook } from '../finish/resolve-finish.ts';
import { directionOf, type Slot } from '../product/slot.ts';
import type { Survey } from '../product/survey.ts';
import type { Mount } from './picture.ts';

/** A slot and its finish. */
export interface SlotFinish {
  readonly slot: Slot;
  readonly finish: ResolvedFinish;
}

/** How an unchanged supplied material covers and passes light. */
export interface SuppliedCover {
  readonly alphaMode: 'OPAQUE' | 'MASK' | 'BLEND';
  readonly doubleSided: boolean;
  /** Whether it has transmission or volume. */
  readonly transmits: boolean;
}

/** One layer of a combination: its subject, and everything in the combination that its pixels depend on. */
export interface PlannedLayer {
  readonly shows: { readonly slot: string } | 'rest' | 'ground';
  readonly determines: unknown;
}

export type LayerPlan =
  | { readonly way: 'layers'; readonly layers: readonly PlannedLayer[] }
  | { readonly way: 'direct'; readonly reason: DirectReason };

/**
 * Why a combination cannot be a sum of layers. Light passes through a part, so its pixels include what lies behind it.
 * Or a finish has another coverage than its part, so the layers of the other parts would change. Or the model draws
 * lines and points, which no layer can hold out.
 */
type DirectReason = 'transmission' | 'coverage' | 'lines';

export interface LayerQuestion {
  readonly survey: Pick<Survey, 'materials' | 'primitives' | 'images' | 'faults' | 'extensions'>;
  readonly mount: Mount;
  /** Slots that have a finish and are not fixed. */
  readonly slotFinishes: readonly SlotFinish[];
  readonly coverOf: (supplied: string) => SuppliedCover | undefined;
}

const SEE_THROUGH = ['KHR_materials_transmission', 'KHR_materials_volume', 'KHR_materials_diffuse_transmission'];

/**
 * Plans the layers of a combination: one for every slot with a finish, one for any other parts, and one for the ground
 * if the product has one. A changed finish changes `determines` of its own layers only.
 */
export function planLayers({ survey, mount, slotFinishes, coverOf }: LayerQuestion): LayerPlan {
  const assigned = new Set(slotFinishes.flatMap(({ slot }) => slot.primitives.map(nameOf)));
  const rest = survey.primitives.filter((part) => part.uses > 0 && part.triangles > 0 && !assigned.has(nameOf(part)));
  const reason = findDirectReason({ survey, slotFinishes, coverOf }, rest.length > 0);
  if (reason) return { way: 'direct', reason };
  // The holdout of a part uses its holes in the finish, which differ slightly from those of the bare part.
  const holes = slotFinishes
    .filter(({ slot }) => hasHoles(survey, slot))
    .map(({ slot }) => [slot.slot, slot.keep.alpha]);
  const layers: PlannedLayer[] = slotFinishes.map(({ slot, finish }) => ({
    shows: { slot: slot.slot },
    determines: [slot.primitives, slot.keep, directionOf(slot, finish.family), toLook(finish), holes],
  }));
  if (rest.length > 0) layers.push({ shows: 'rest', determines: [rest.map(nameOf), holes] });
  if (mount !== 'ceiling') layers.push({ shows: 'ground', determines: holes });
  return { way: 'layers', layers };
}

function findDirectReason(
  { survey, slotFinishes, coverOf }: Omit<LayerQuestion, 'mount'>,
  restIsShown: boolean,
): DirectReason | null {
  if (survey.faults.some(({ fault }) => fault === 'points-or-lines')) return 'lines';
  // The survey does not say which materials pass light, so any of the other parts may.
  if (restIsShown && survey.extensions.used.some((name) => SEE_THROUGH.includes(name))) return 'transmission';
  for (const { slot, finish } of slotFinishes) {
    const cover = finish.supplied === null ? undefined : coverOf(finish.supplied);
    if (finish.supplied === null ? finish.transmission > 0 : cover?.transmits) return 'transmission';
    if (finish.supplied === null ? mayCutHoles(survey, slot, finish) : !coversLike(survey, slot, cover))
      return 'coverage';
  }
  return null;
}

/** If a part with holes has no colour map to shape them, a finish's own colour map would bring its own alpha. */
function mayCutHoles(survey: LayerQuestion['survey'], slot: Slot, { maps }: ResolvedFinish): boolean {
  if (!maps.colour || !slot.keep.alpha) return false;
  return listMaterials(survey, slot).some((material) => {
    if (material.alphaMode === 'OPAQUE') return false;
    const map = material.maps.find(({ use }) => /baseColorTexture|diffuseTexture/.test(use));
    return survey.images[map?.image ?? -1]?.content?.hasAlpha !== true;
  });
}

function coversLike(survey: LayerQuestion['survey'], slot: Slot, cover: SuppliedCover | undefined): boolean {
  if (cover?.alphaMode !== 'OPAQUE') return false;
  return (
    !hasHoles(survey, slot) &&
    slot.materials.every((index) => (survey.materials[index ?? -1]?.doubleSided ?? false) === cover.doubleSided)
  );
}

function hasHoles(survey: LayerQuestion['survey'], slot: Slot): boolean {
  return listMaterials(survey, slot).some(({ alphaMode }) => alphaMode !== 'OPAQUE');
}

function listMaterials(survey: LayerQuestion['survey'], slot: Slot) {
  return slot.materials.flatMap((index) => (index === null ? [] : (survey.materials[index] ?? [])));
}

/**
 * Everything in a slot and its finish that a picture depends on. A new label or other options do not require a new
 * picture.
 */
export function describeSlotFinish({ slot, finish }: SlotFinish): unknown {
  return [slot.slot, slot.primitives, slot.keep, directionOf(slot, finish.family), slot.fixed, toLook(finish)];
}

function nameOf({ mesh, primitive }: { readonly mesh: number; readonly primitive: number }): string {
  return `${mesh}/${primitive}`;
}
