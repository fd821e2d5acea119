import type { Slot } from '../product/slot.ts';
import type { Survey } from '../product/survey.ts';

/**
 * The linear mean of the neutral detail map that a slot keeps of a material, 0–1; null where there is none or it is not
 * kept. Slots stored before there was such a map say nothing of it, and keep it.
 */
export function findDetailMean(slot: Slot, material: number | null, survey: Survey): number | null {
  if (slot.keep.detail === false || material === null) return null;
  return survey.materials[material]?.neutralDetail?.mean ?? null;
}
