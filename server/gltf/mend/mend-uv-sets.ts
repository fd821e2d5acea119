import { type GltfJson, type MaterialJson, VARIANTS } from '../document/json.ts';
import { texCoordOf } from '../document/texture-transform.ts';
import { dropTexture, listTextureUses, resetFactor, type TextureUse } from '../document/texture-uses.ts';
import type { Mender } from './mend-values.ts';

/**
 * Removes maps that use a second or later UV set which none of their parts has: no viewer can show them. Where only the
 * texture transform names the set, the map uses its own instead.
 */
export function mendUvSets(json: GltfJson, mender: Mender): GltfJson {
  const { materials } = json;
  if (!Array.isArray(materials)) return json;
  const sets = listSets(json);
  const mended = materials.map((material, index) => {
    const own = sets.get(index);
    if (!own || typeof material !== 'object' || material === null) return material;
    const lacking = listTextureUses(material).filter(({ info }) => texCoordOf(info) > 0 && !own.has(texCoordOf(info)));
    if (lacking.length === 0) return material;
    const copy = structuredClone(material);
    for (const use of lacking) removeMap(copy, use, own, index, mender);
    return copy;
  });
  return mended.some((material, i) => material !== materials[i]) ? { ...json, materials: mended } : json;
}

function removeMap(copy: MaterialJson, use: TextureUse, own: ReadonlySet<number>, index: number, mender: Mender): void {
  const at = ['materials', index, ...use.use.split('.')];
  const expected = 'the number of a set of UVs that a part has';
  const copied = listTextureUses(copy).find((candidate) => candidate.use === use.use);
  const transform = copied?.info.extensions?.KHR_texture_transform;
  const base = use.info.texCoord ?? 0;
  if (transform?.texCoord !== undefined && (base === 0 || own.has(base))) {
    mender.note(
      'dangling-reference',
      [...at, 'extensions', 'KHR_texture_transform', 'texCoord'],
      transform.texCoord,
      expected,
      base,
    );
    delete transform.texCoord;
    return;
  }
  mender.note('dangling-reference', [...at, 'texCoord'], texCoordOf(use.info), expected);
  dropTexture(copy, use);
  resetFactor(copy, use.use);
}

/** UV sets by material, over all primitives that show it in any variant. */
function listSets({ meshes }: GltfJson): Map<number, Set<number>> {
  const sets = new Map<number, Set<number>>();
  for (const primitive of (Array.isArray(meshes) ? meshes : []).flatMap((mesh) => mesh?.primitives ?? [])) {
    const names = Object.keys(primitive?.attributes ?? {});
    const mappings = primitive?.extensions?.[VARIANTS]?.mappings;
    const inVariants = (Array.isArray(mappings) ? mappings : []).map((mapping) => mapping?.material);
    for (const material of [primitive?.material, ...inVariants]) {
      if (typeof material !== 'number') continue;
      const own = sets.get(material) ?? new Set();
      sets.set(material, own);
      for (const name of names) if (name.startsWith('TEXCOORD_')) own.add(Number(name.slice(9)));
    }
  }
  return sets;
}
