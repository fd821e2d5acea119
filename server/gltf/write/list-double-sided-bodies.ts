import { type Finding, makeFinding } from '../../core/product/finding.ts';
import { count } from '../../core/texts/format-text.ts';
import type { GltfJson } from '../document/json.ts';
import { hasBody } from '../materials/add-shading.ts';
import type { Dressed } from '../materials/combine-part-normals.ts';

/**
 * One finding per slot for finishes with a body, such as tinted glass, on parts that are marked double-sided. Light is lost
 * between where it enters a closed part and where it leaves: `doubleSided` has no effect there (`KHR_materials_volume`),
 * and a validator warns of it, so it is left off. On an open sheet its back would be gone with it.
 * @param json the source, before it is dressed
 */
export function listDoubleSidedBodies(dressed: readonly Dressed[], json: GltfJson): Finding[] {
  const bySlot = new Map<string, { label: string; finishes: Set<string> }>();
  for (const { result, finish } of dressed) {
    if (!hasBody(finish) || !json.materials?.[result.sourceMaterial ?? -1]?.doubleSided) continue;
    const { slot, label } = result.slot;
    const told = bySlot.get(slot) ?? { label, finishes: new Set() };
    bySlot.set(slot, told);
    told.finishes.add(finish.finish);
  }
  return [...bySlot].map(([slot, { label, finishes }]) =>
    makeFinding('double-sided-body', {
      where: `slot ${slot}`,
      message: `“${label}” is marked double-sided, which says nothing of a body that light is lost in; ${count(finishes.size, 'finish is', 'finishes are')} written without it. Where the part is closed nothing changes. Where it is an open sheet its back is not drawn: close it, or use a finish without a volume.`,
      seen: [...finishes],
      expected: 'a closed part, single-sided',
    }),
  );
}
