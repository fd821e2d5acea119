import type { Slot } from '../product/slot.ts';
import type { NeutralDetail, Survey } from '../product/survey.ts';

/**
 * The neutral detail map that a slot keeps of a material; null where there is none or it is not kept. Slots stored before
 * there was such a map say nothing of it, and keep it.
 */
export function findDetail(slot: Slot, material: number | null, survey: Survey): NeutralDetail | null {
  if (slot.keep.detail === false || material === null) return null;
  return survey.materials[material]?.neutralDetail ?? null;
}
