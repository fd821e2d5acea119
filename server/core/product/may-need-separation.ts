import type { Survey } from './survey.ts';

/** One material that covers nearly everything was baked over parts that would change separately (common practice). */
export const ONE_MATERIAL_SHARE = 0.9;
/** A few islands are what any single part has. */
export const FEW_PIECES = 3;

/** Whether pieces of a model may have to be told apart: one material covers nearly all of its area, in several pieces. */
export function mayNeedSeparation({ materials }: Survey): boolean {
  const total = materials.reduce((sum, { areaM2 }) => sum + areaM2, 0);
  return materials.some((material) => material.pieces > FEW_PIECES && material.areaM2 >= total * ONE_MATERIAL_SHARE);
}
