import type { GltfJson, MaterialJson, TextureInfoJson, TextureJson } from './json.ts';

export interface TextureUse {
  /** Property path inside the material, e.g. `extensions.KHR_materials_sheen.sheenColorTexture`. */
  readonly use: string;
  readonly info: TextureInfoJson;
}

/** Every texture of a material and its extensions: an object with an `index` under a name that ends in “texture”. */
export function listTextureUses(material: MaterialJson): TextureUse[] {
  const uses: TextureUse[] = [];
  const visit = (value: unknown, path: string, depth: number): void => {
    if (typeof value !== 'object' || value === null || depth > 8) return;
    for (const [key, child] of Object.entries(value)) {
      if (key === 'extras' || typeof child !== 'object' || child === null) continue;
      const at = path ? `${path}.${key}` : key;
      if (/texture$/i.test(key) && Number.isInteger((child as TextureInfoJson).index)) {
        uses.push({ use: at, info: child as TextureInfoJson });
      }
      visit(child, at, depth + 1);
    }
  };
  visit(material, '', 0);
  return uses;
}

/** Removes a map from a material. */
export function dropTexture(material: MaterialJson, { use }: TextureUse): void {
  const path = use.split('.');
  const last = path.pop()!;
  const holder = path.reduce<Record<string, unknown>>(
    (at, key) => at[key] as Record<string, unknown>,
    material as Record<string, unknown>,
  );
  delete holder[last];
}

const EMISSIVE = 'emissiveTexture';
const METALLIC = 'pbrMetallicRoughness.metallicRoughnessTexture';
const TRANSMISSION = 'extensions.KHR_materials_transmission.transmissionTexture';

/**
 * Resets a factor that scaled a removed map: a part that glowed, was metal or transmitted light only in places must not do
 * so all over.
 * @param use the map that was removed
 */
export function resetFactor(material: MaterialJson, use: string): void {
  if (use === EMISSIVE) delete material.emissiveFactor;
  if (use === METALLIC && material.pbrMetallicRoughness) material.pbrMetallicRoughness.metallicFactor = 0;
  const transmission = material.extensions?.KHR_materials_transmission;
  if (use === TRANSMISSION && transmission) transmission.transmissionFactor = 0;
}

/** Resets the factors of maps that a material had, valid or not, and its changed copy lacks. */
export function resetFactors(before: MaterialJson, after: MaterialJson): void {
  for (const use of [EMISSIVE, METALLIC, TRANSMISSION]) {
    if (hasProperty(before, use) && !hasProperty(after, use)) resetFactor(after, use);
  }
}

/** Some exporters write null for a map that a material does not have. */
function hasProperty(material: MaterialJson, use: string): boolean {
  const found = use.split('.').reduce<unknown>((at, key) => (at as Record<string, unknown> | null)?.[key], material);
  return found !== undefined && found !== null;
}

/** Every image a texture may show: the core source and the sources of its extensions (WebP, KTX2, AVIF). */
export function listSources(texture: TextureJson): number[] {
  const sources = [texture.source, ...Object.values(texture.extensions ?? {}).map((extension) => extension?.source)];
  return sources.filter((source): source is number => Number.isInteger(source));
}

/** The image that a viewer with every extension shows. */
export function bestSource(texture: TextureJson | undefined): number | null {
  if (!texture) return null;
  const all = listSources(texture);
  return all[all.length - 1] ?? null;
}

/** Indices of materials that `KHR_animation_pointer` changes. */
export function listAnimatedMaterials(json: GltfJson): Set<number> {
  const animated = new Set<number>();
  for (const animation of json.animations ?? []) {
    for (const channel of animation.channels ?? []) {
      const pointer = channel.target?.extensions?.KHR_animation_pointer?.pointer;
      const match = typeof pointer === 'string' ? /^\/materials\/(\d+)(\/|$)/.exec(pointer) : null;
      if (match) animated.add(Number(match[1]));
    }
  }
  return animated;
}
