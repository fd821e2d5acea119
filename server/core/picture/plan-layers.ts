import { type ResolvedFinish, toLook } from '../finish/resolve-finish.ts';
import { directionOf, type Slot } from '../product/slot.ts';
import type { Survey } from '../product/survey.ts';
import type { Mount } from './picture.ts';

/** A slot and the finish it wears. */
export interface SlotFinish {
  readonly slot: Slot;
  readonly finish: ResolvedFinish;
}

/** How a supplied material, which is delivered as it is, covers and passes light. */
export interface SuppliedCover {
  readonly alphaMode: 'OPAQUE' | 'MASK' | 'BLEND';
  readonly doubleSided: boolean;
  /** Whether it has transmission or volume. */
  readonly transmits: boolean;
}

/** One layer of a combination: what it shows, and all of the combination that its pixels depend on. */
export interface PlannedLayer {
  readonly shows: { readonly slot: string } | 'rest' | 'ground';
  readonly determines: unknown;
}

export type LayerPlan =
  | { readonly way: 'layers'; readonly layers: readonly PlannedLayer[] }
  | { readonly way: 'direct'; readonly reason: DirectReason };

/**
 * Why a combination cannot be summed of layers: light passes through a part, so that what lies behind is part of its
 * pixels; a finish covers otherwise than the part it lies on, so that the other parts' layers would change with it; or
 * lines and points are drawn, which no layer holds out.
 */
export type DirectReason = 'transmission' | 'coverage' | 'lines';

export interface LayerQuestion {
  readonly survey: Pick<Survey, 'materials' | 'primitives' | 'images' | 'faults' | 'extensions'>;
  readonly mount: Mount;
  /** Slots that wear a finish and are not fixed. */
  readonly worn: readonly SlotFinish[];
  readonly coverOf: (supplied: string) => SuppliedCover | undefined;
}

const SEE_THROUGH = ['KHR_materials_transmission', 'KHR_materials_volume', 'KHR_materials_diffuse_transmission'];

/**
 * Plans the layers of a combination: one for every slot that wears a finish, one for the rest where there is any, one
 * for the ground where the product has one. A changed finish changes `determines` of its own layers only.
 */
export function planLayers({ survey, mount, worn, coverOf }: LayerQuestion): LayerPlan {
  const dressed = new Set(worn.flatMap(({ slot }) => slot.primitives.map(nameOf)));
  const rest = survey.primitives.filter((part) => part.uses > 0 && part.triangles > 0 && !dressed.has(nameOf(part)));
  const reason = findDirectReason({ survey, worn, coverOf }, rest.length > 0);
  if (reason) return { way: 'direct', reason };
  // the holes of a part are held out as it wears them, which a finish does a little otherwise than the part by itself
  const holes = worn.filter(({ slot }) => hasHoles(survey, slot)).map(({ slot }) => [slot.slot, slot.keep.alpha]);
  const layers: PlannedLayer[] = worn.map(({ slot, finish }) => ({
    shows: { slot: slot.slot },
    determines: [slot.primitives, slot.keep, directionOf(slot, finish.family), toLook(finish), holes],
  }));
  if (rest.length > 0) layers.push({ shows: 'rest', determines: [rest.map(nameOf), holes] });
  if (mount !== 'ceiling') layers.push({ shows: 'ground', determines: holes });
  return { way: 'layers', layers };
}

function findDirectReason(
  { survey, worn, coverOf }: Omit<LayerQuestion, 'mount'>,
  restIsShown: boolean,
): DirectReason | null {
  if (survey.faults.some(({ fault }) => fault === 'points-or-lines')) return 'lines';
  // which of a model's materials passes light its survey does not say: any may be among the rest
  if (restIsShown && survey.extensions.used.some((name) => SEE_THROUGH.includes(name))) return 'transmission';
  for (const { slot, finish } of worn) {
    const cover = finish.supplied === null ? undefined : coverOf(finish.supplied);
    if (finish.supplied === null ? finish.transmission > 0 : cover?.transmits) return 'transmission';
    if (finish.supplied === null ? mayCutHoles(survey, slot, finish) : !coversLike(survey, slot, cover))
      return 'coverage';
  }
  return null;
}

/** A finish's own colour map, laid on a part with holes that has none to shape them, would bring its own alpha. */
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

/** Of a slot and its finish, all that any picture of it depends on: a new label or other options take no picture again. */
export function describeSlotFinish({ slot, finish }: SlotFinish): unknown {
  return [slot.slot, slot.primitives, slot.keep, directionOf(slot, finish.family), slot.fixed, toLook(finish)];
}

function nameOf({ mesh, primitive }: { readonly mesh: number; readonly primitive: number }): string {
  return `${mesh}/${primitive}`;
}
