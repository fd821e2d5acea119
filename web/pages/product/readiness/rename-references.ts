import type { MaterialReference, Repair } from '../../../../server/core/repair/repair.ts';

/** A repair with the materials it refers to under other names; null drops a name from its list. */
export function renameReferences(repair: Repair, names: ReadonlyMap<string, string | null>): Repair {
  switch (repair.repair) {
    case 'set-nonmetal':
    case 'neutral-detail':
    case 'box-uvs':
    case 'turn-outward':
      return repair.materials ? { ...repair, materials: renameAll(repair.materials, names) } : repair;
    case 'separate-pieces':
      return { ...repair, material: names.get(repair.material) ?? repair.material };
    default:
      return repair;
  }
}

function renameAll(
  references: readonly MaterialReference[],
  names: ReadonlyMap<string, string | null>,
): MaterialReference[] {
  const renamed = references.flatMap((reference) => {
    const name = names.get(reference);
    if (name === null) return [];
    return [name ?? reference];
  });
  return [...new Set(renamed)];
}
