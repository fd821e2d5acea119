import { type GltfJson, type PrimitiveJson, VARIANTS } from '../../document/json.ts';

/** Parts that wear the same: their own material, and the material of every variant; null is glTF's default material. */
export interface Worn {
  readonly own: number | null;
  readonly byVariant: readonly (number | null)[];
  /** They change in some variant. */
  readonly varies: boolean;
  readonly primitives: readonly { readonly mesh: number; readonly primitive: number }[];
}

/**
 * Groups primitives by what they wear, in the order they are first met. Where a variant is not mapped, a primitive keeps
 * its own material, as `KHR_materials_variants` says; where it is mapped twice, which is not allowed, the first counts.
 * Mappings that name what is not there count as none.
 */
export function readWorn(
  json: GltfJson,
  variants: number,
  primitives: readonly { readonly mesh: number; readonly primitive: number }[],
): Worn[] {
  const groups = new Map<string, Worn & { primitives: { mesh: number; primitive: number }[] }>();
  // hundreds of loose parts may carry the same ten thousand variants: alike mappings are read once
  const known = new Map<string, Worn & { primitives: { mesh: number; primitive: number }[] }>();
  for (const place of primitives) {
    const primitive = json.meshes?.[place.mesh]?.primitives[place.primitive];
    if (!primitive) continue;
    const written = JSON.stringify([primitive.material, primitive.extensions?.[VARIANTS]]);
    let group = known.get(written);
    if (!group) {
      const own = primitive.material ?? null;
      const byVariant = listByVariant(json, primitive, own, variants);
      const signature = [own, ...byVariant].join();
      group = groups.get(signature) ?? {
        own,
        byVariant,
        varies: byVariant.some((material) => material !== own),
        primitives: [],
      };
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
