import { type GltfJson, type PrimitiveJson, VARIANTS } from '../document/json.ts';

/** Primitives that show the same material in every variant. Materials are indices; null is glTF's default material. */
export interface MaterialUse {
  /** Shown before a variant is chosen. */
  readonly own: number | null;
  readonly byVariant: readonly (number | null)[];
  /** Some variant shows another material than `own`. */
  readonly varies: boolean;
  readonly primitives: readonly PrimitivePlace[];
}

export interface PrimitivePlace {
  readonly mesh: number;
  readonly primitive: number;
}

type Growing = MaterialUse & { readonly primitives: PrimitivePlace[] };

/**
 * Groups primitives by the materials they show, in order of first appearance. In a variant without a mapping a primitive
 * shows its own material (`KHR_materials_variants`). Of two mappings for one variant, which the extension forbids, the first
 * counts. Mappings to variants or materials that do not exist are ignored.
 * @param variants how many variants the model has
 */
export function readMaterialUse(
  json: GltfJson,
  variants: number,
  primitives: readonly PrimitivePlace[],
): MaterialUse[] {
  const groups = new Map<string, Growing>();
  // hundreds of loose parts may have the same ten thousand variants, so equal mappings are read once
  const known = new Map<string, Growing>();
  for (const place of primitives) {
    const primitive = json.meshes?.[place.mesh]?.primitives[place.primitive];
    if (!primitive) continue;
    const written = JSON.stringify([primitive.material, primitive.extensions?.[VARIANTS]]);
    let group = known.get(written);
    if (!group) {
      const own = primitive.material ?? null;
      const byVariant = listByVariant(json, primitive, own, variants);
      const signature = [own, ...byVariant].join();
      const varies = byVariant.some((material) => material !== own);
      group = groups.get(signature) ?? { own, byVariant, varies, primitives: [] };
      groups.set(signature, group);
      known.set(written, group);
    }
    group.primitives.push(place);
  }
  return [...groups.values()];
}

function listByVariant(
  json: GltfJson,
  primitive: PrimitiveJson,
  own: number | null,
  variants: number,
): (number | null)[] {
  const byVariant = new Array<number | null | undefined>(variants).fill(undefined);
  const mappings = primitive.extensions?.[VARIANTS]?.mappings;
  for (const mapping of Array.isArray(mappings) ? mappings : []) {
    const { material, variants: listed } = (mapping ?? {}) as { material?: unknown; variants?: unknown };
    if (typeof material !== 'number' || !json.materials?.[material] || !Array.isArray(listed)) continue;
    for (const variant of listed) {
      if (Number.isInteger(variant) && variant >= 0 && variant < variants) byVariant[variant] ??= material;
    }
  }
  return byVariant.map((material) => (material === undefined ? own : material));
}
