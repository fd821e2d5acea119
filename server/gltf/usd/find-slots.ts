import { foldCode } from '../../core/codes.ts';
import type { UsdRow } from '../../core/delivery/usd-form.ts';
import { type GltfJson, type PrimitiveJson, VARIANTS } from '../document/json.ts';

/** Index of a material; null is glTF's default material. */
export type Material = number | null;

/** The material of a primitive in each variant of the file. */
export function listMaterials({ material, extensions }: PrimitiveJson, variants: number): Material[] {
  const listed = new Array<Material>(variants).fill(material ?? null);
  const mappings = extensions?.[VARIANTS]?.mappings as { material?: number; variants: number[] }[] | undefined;
  for (const mapping of mappings ?? []) {
    for (const variant of mapping.variants) if (variant < variants) listed[variant] = mapping.material ?? null;
  }
  return listed;
}

export interface SlotUse {
  readonly slot: string;
  /** By the folded code of the finish; `''` is a slot without a choice. */
  readonly materials: ReadonlyMap<string, Material>;
}

export const choiceKey = ({ choices }: UsdRow, slot: string): string => foldCode(choices[slot] ?? '');

/**
 * The slot that decides a primitive's material. Materials of a delivery are named by slot and finish; a slot that its rows do not
 * contradict is found by that name first.
 * @returns null for a part that no slot changes; `mixed` where no single slot decides
 */
export function findSlot(
  json: GltfJson,
  primitive: PrimitiveJson,
  slots: readonly string[],
  rows: readonly UsdRow[],
): SlotUse | 'mixed' | null {
  if (!primitive.extensions?.[VARIANTS]) return null;
  const materials = listMaterials(primitive, rows.length);
  const names = new Set(
    materials.map((material) => (material === null ? '' : String(json.materials?.[material]?.name ?? ''))),
  );
  // every row keeps the part's own material
  if (new Set(materials).size === 1 && !slots.some((slot) => [...names].some((name) => name.startsWith(`${slot}/`))))
    return null;
  const isNamed = (slot: string) => [...names].some((name) => name.startsWith(`${slot}/`));
  const order = [...slots].sort((a, b) => Number(isNamed(b)) - Number(isNamed(a)) || b.length - a.length);
  for (const slot of order) {
    const known = decide(materials, slot, rows);
    if (known) return { slot, materials: known };
  }
  return 'mixed';
}

function decide(materials: readonly Material[], slot: string, rows: readonly UsdRow[]): Map<string, Material> | null {
  const known = new Map<string, Material>();
  for (const [row, material] of materials.entries()) {
    const key = choiceKey(rows[row]!, slot);
    const before = known.get(key);
    if (before === undefined && !known.has(key)) known.set(key, material);
    else if (before !== material) return null;
  }
  return known;
}
