import type { TextureTransform } from '../../core/delivery/repeat-transform.ts';
import type { SurveyedMaterial } from '../../core/product/survey.ts';
import {
  type GltfJson,
  type MaterialJson,
  type PrimitiveJson,
  type TextureInfoJson,
  type TextureJson,
  VARIANTS,
} from './json.ts';

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

/** Takes UVs of the mesh to UVs of the image. */
export type TransformUv = (u: number, v: number) => readonly [number, number];

/** Number of the UV set that a texture uses: `texCoord` of its `KHR_texture_transform` comes before its own. */
export function texCoordOf(info: TextureInfoJson): number {
  const own = info.extensions?.KHR_texture_transform?.texCoord;
  return typeof own === 'number' ? own : (info.texCoord ?? 0);
}

/** The values of a `KHR_texture_transform` object. Values of the wrong type are ignored, as viewers ignore them. */
export function readTransform({ offset, rotation, scale }: Record<string, unknown>): TextureTransform {
  const isPair = (value: unknown): value is [number, number] =>
    Array.isArray(value) && value.length === 2 && value.every(Number.isFinite);
  return {
    ...(isPair(offset) && { offset }),
    ...(typeof rotation === 'number' && { rotation }),
    ...(isPair(scale) && { scale }),
  };
}

/**
 * The transform as a function. It multiplies offset × rotation × scale, in this order, as the extension specifies.
 * @param extension the object `KHR_texture_transform`; undefined leaves UVs as they are
 */
export function compileTransform(extension: Record<string, unknown> | undefined): TransformUv {
  if (!extension) return (u, v) => [u, v];
  const [ox = 0, oy = 0] = (extension.offset as number[] | undefined) ?? [];
  const [sx = 1, sy = 1] = (extension.scale as number[] | undefined) ?? [];
  const rotation = typeof extension.rotation === 'number' ? extension.rotation : 0;
  const cos = Math.cos(rotation);
  const sin = Math.sin(rotation);
  return (u, v) => [cos * u * sx + sin * v * sy + ox, -sin * u * sx + cos * v * sy + oy];
}

/** The factors of a material, with glTF's defaults; for the specular-glossiness workflow, its diffuse colour. */
export function readFactors({ pbrMetallicRoughness: pbr = {}, extensions }: MaterialJson): SurveyedMaterial['factors'] {
  const glossy = extensions?.KHR_materials_pbrSpecularGlossiness as
    | { diffuseFactor?: unknown; glossinessFactor?: unknown }
    | undefined;
  const [r = 1, g = 1, b = 1, a = 1] = listNumbers(glossy ? glossy.diffuseFactor : pbr.baseColorFactor);
  return {
    baseColor: [r, g, b, a],
    metallic: glossy ? 0 : (toNumber(pbr.metallicFactor) ?? 1),
    roughness: glossy ? 1 - (toNumber(glossy.glossinessFactor) ?? 1) : (toNumber(pbr.roughnessFactor) ?? 1),
  };
}

/**
 * The linear mean of a material's neutral detail map, as the repair that made it wrote it beside the map
 * (`extras.neutralDetail.mean`, above 0 and at most 1); null if its colour map is not neutral detail.
 */
export function readNeutralDetail({ pbrMetallicRoughness, extras }: MaterialJson): { readonly mean: number } | null {
  const mean = toNumber((extras as { neutralDetail?: { mean?: unknown } } | null | undefined)?.neutralDetail?.mean);
  if (!pbrMetallicRoughness?.baseColorTexture || mean === null || mean <= 0 || mean > 1) return null;
  return { mean };
}

function listNumbers(value: unknown): number[] {
  return Array.isArray(value) && value.every((item) => toNumber(item) !== null) ? value : [];
}

function toNumber(value: unknown): number | null {
  return typeof value === 'number' && Number.isFinite(value) ? value : null;
}

/** Materials of primitives, in all variants. */
export function listMaterialsOf(primitives: readonly PrimitiveJson[]): Set<number> {
  const found = new Set<number>();
  for (const { material, extensions } of primitives) {
    if (material !== undefined) found.add(material);
    const mappings = extensions?.[VARIANTS]?.mappings;
    if (!Array.isArray(mappings)) continue;
    for (const mapping of mappings) if (typeof mapping?.material === 'number') found.add(mapping.material);
  }
  return found;
}
