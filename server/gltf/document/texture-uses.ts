import type { GltfJson, MaterialJson, TextureInfoJson, TextureJson } from './json.ts';

export interface TextureUse {
  /** Property path inside the material, e.g. `extensions.KHR_materials_sheen.sheenColorTexture`. */
  readonly use: string;
  readonly info: TextureInfoJson;
}

/** Every texture a material refers to, its extensions included: an object with an `index` under a name ending in “texture”. */
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

/** Takes a map off a material. */
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
 * A factor that said how strongly a map counts says nothing of a part without it: one that glowed, was metal or let light
 * through in places only must not do so all over.
 * @param use the map that was taken off
 */
export function settleFactor(material: MaterialJson, use: string): void {
  if (use === EMISSIVE) delete material.emissiveFactor;
  if (use === METALLIC && material.pbrMetallicRoughness) material.pbrMetallicRoughness.metallicFactor = 0;
  const transmission = material.extensions?.KHR_materials_transmission;
  if (use === TRANSMISSION && transmission) transmission.transmissionFactor = 0;
}

/** Settles the factors of maps that one copy of a material had, in whatever state, and a later one lacks. */
export function settleFactors(before: MaterialJson, after: MaterialJson): void {
  for (const use of [EMISSIVE, METALLIC, TRANSMISSION]) {
    if (hasProperty(before, use) && !hasProperty(after, use)) settleFactor(after, use);
  }
}

/** Null is what some exporters write for a map that never was. */
function hasProperty(material: MaterialJson, use: string): boolean {
  const found = use.split('.').reduce<unknown>((at, key) => (at as Record<string, unknown> | null)?.[key], material);
  return found !== undefined && found !== null;
}

/** Every image a texture may show: the core source and the sources of its extensions (WebP, KTX2, AVIF). */
export function listSources(texture: TextureJson): number[] {
  const sources = [texture.source, ...Object.values(texture.extensions ?? {}).map((extension) => extension?.source)];
  return sources.filter((source): source is number => Number.isInteger(source));
}

/** The image a reader that knows every extension would show. */
export function bestSource(texture: TextureJson | undefined): number | null {
  if (!texture) return null;
  const all = listSources(texture);
  return all[all.length - 1] ?? null;
}

/** Indices of materials that animation pointers drive (`KHR_animation_pointer`). */
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
