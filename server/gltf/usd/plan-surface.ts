import type { UsdLossCode } from '../../core/delivery/usd-form.ts';
import type { GltfJson, MaterialJson, TextureInfoJson } from '../document/json.ts';
import { listSources, readTransform, texCoordOf } from '../document/read-material.ts';
import type { Recipe } from './bake-texture.ts';

/** Where a texture lies on its parts: which UVs, and how they are moved, turned and scaled. */
export interface Placement {
  readonly texCoord: number;
  readonly transform: Readonly<Record<string, unknown>> | null;
}

export interface MapUse {
  /** Images that show it: PNG or JPEG first, since a package may have no other format. */
  readonly images: readonly number[];
  readonly recipe: Recipe;
  readonly placement: Placement;
  readonly wrap: readonly [string, string];
}

/** An input of a preview surface: a constant, a map, or colours of the vertices. */
export interface SurfaceInput {
  readonly name: string;
  readonly type: 'color3f' | 'float' | 'normal3f' | 'int';
  /** The value without a map, and where its image cannot be read; null leaves the input out then. */
  readonly value: number | readonly number[] | null;
  readonly map?: MapUse & { readonly channel: 'rgb' | 'r' | 'g' | 'b' | 'a' };
  readonly vertexColours?: true;
}

export interface Surface {
  readonly name: string;
  readonly doubleSided: boolean;
  readonly inputs: readonly SurfaceInput[];
  readonly losses: readonly UsdLossCode[];
  /** Factor of the colours of vertices, which are written with it; null where vertices have none, or a map has their place. */
  readonly tint: readonly number[] | null;
}

type Json = Readonly<Record<string, unknown>>;

/** Extensions without a counterpart in the preview surface. */
const LOST: Readonly<Record<string, UsdLossCode>> = {
  KHR_materials_sheen: 'sheen',
  KHR_materials_volume: 'volume',
  KHR_materials_anisotropy: 'anisotropy',
  KHR_materials_iridescence: 'iridescence',
  KHR_materials_dispersion: 'dispersion',
  KHR_materials_specular: 'specular',
  KHR_materials_diffuse_transmission: 'diffuse-transmission',
};

const SHOWN = new Set([
  'KHR_materials_transmission',
  'KHR_materials_clearcoat',
  'KHR_materials_ior',
  'KHR_materials_emissive_strength',
  'KHR_materials_unlit',
  'KHR_materials_pbrSpecularGlossiness',
]);

/** How clear full transmission becomes as opacity. Clearer glass loses its edges before a camera picture. */
const CLEAREST = 0.25;

/**
 * Plans a material as a preview surface (OpenUSD, "UsdPreviewSurface specification"). Some viewers ignore a factor beside a map, so
 * each factor is baked into its map. Colours are linear, as in glTF.
 * @param hasColours whether the vertices of the parts have colours
 */
export function planSurface(json: GltfJson, index: number | null, hasColours: boolean): Surface {
  const material: MaterialJson = index === null ? {} : json.materials![index]!;
  const losses = new Set<UsdLossCode>();
  const { extensions = {} } = material;
  for (const name of Object.keys(extensions)) {
    if (LOST[name]) losses.add(LOST[name]);
    else if (!SHOWN.has(name) && name.includes('_materials_')) losses.add('unknown-shading');
  }
  const builder = new SurfaceBuilder(json, losses);
  const glossy = extensions.KHR_materials_pbrSpecularGlossiness as Json | undefined;
  const tint = addColour(builder, material, glossy, hasColours);
  if (glossy) addGlossy(builder, glossy);
  else addMetallic(builder, material);
  addRelief(builder, material);
  addGlow(builder, material, losses);
  addCoat(builder, extensions.KHR_materials_clearcoat, losses);
  const ior = toNumber(extensions.KHR_materials_ior?.ior, 1.5);
  if (ior > 0) builder.add('ior', 'float', ior);
  return {
    name: String(material.name ?? ''),
    doubleSided: material.doubleSided === true,
    ...builder,
    tint,
    losses: [...losses],
  };
}

class SurfaceBuilder {
  readonly inputs: SurfaceInput[] = [];
  readonly #json: GltfJson;
  readonly #losses: Set<UsdLossCode>;

  constructor(json: GltfJson, losses: Set<UsdLossCode>) {
    this.#json = json;
    this.#losses = losses;
  }

  add(
    name: string,
    type: SurfaceInput['type'],
    value: SurfaceInput['value'],
    map?: MapUse | null,
    channel: NonNullable<SurfaceInput['map']>['channel'] = 'rgb',
  ): void {
    this.inputs.push({ name, type, value, ...(map && { map: { ...map, channel } }) });
  }

  /** The map behind a texture; null without one. */
  use(info: unknown, recipe: Recipe): MapUse | null {
    const { index, extensions } = (info ?? {}) as Partial<TextureInfoJson>;
    const texture = index === undefined ? undefined : this.#json.textures?.[index];
    if (!texture) return null;
    const images = listSources(texture);
    if (images.length === 0) return null;
    const { wrapS, wrapT } = this.#json.samplers?.[texture.sampler ?? -1] ?? {};
    const transform = extensions?.KHR_texture_transform;
    return {
      images,
      recipe,
      placement: {
        texCoord: texCoordOf(info as TextureInfoJson),
        transform: transform ? { ...readTransform(transform) } : null,
      },
      wrap: [toWrap(wrapS), toWrap(wrapT)],
    };
  }

  lose(code: UsdLossCode): void {
    this.#losses.add(code);
  }
}

const toWrap = (mode?: number) => (mode === 33071 ? 'clamp' : mode === 33648 ? 'mirror' : 'repeat');

/** Colour and coverage. @returns the factor of vertex colours, see `Surface.tint` */
function addColour(
  builder: SurfaceBuilder,
  material: MaterialJson,
  glossy: Json | undefined,
  hasColours: boolean,
): readonly number[] | null {
  const { pbrMetallicRoughness: pbr = {}, extensions = {}, alphaMode = 'OPAQUE' } = material;
  const [r, g, b, a] = toColour(glossy ? glossy.diffuseFactor : pbr.baseColorFactor, [1, 1, 1, 1]);
  const info = glossy ? glossy.diffuseTexture : pbr.baseColorTexture;
  const covers = alphaMode === 'OPAQUE';
  const transmission = toNumber(extensions.KHR_materials_transmission?.transmissionFactor, 0);
  const clear = 1 - transmission * (1 - CLEAREST);
  if (transmission > 0) builder.lose('transmission');
  const alpha = covers ? clear : a! * clear;
  const map = builder.use(info, { kind: 'colour', factor: [r!, g!, b!], alpha: covers ? null : alpha });
  const isUnlit = extensions.KHR_materials_unlit !== undefined;
  const colour = [r!, g!, b!];
  if (isUnlit) builder.lose('unlit');
  const tinted = hasColours && !map && !isUnlit;
  if (hasColours && !tinted) builder.lose('vertex-colours');
  if (isUnlit) {
    // a surface that shows its colour in any light is one that glows
    builder.add('diffuseColor', 'color3f', [0, 0, 0]);
    builder.add('emissiveColor', 'color3f', colour, map);
  } else if (tinted) builder.inputs.push({ name: 'diffuseColor', type: 'color3f', value: colour, vertexColours: true });
  else builder.add('diffuseColor', 'color3f', colour, map);
  if (covers) {
    if (transmission > 0) builder.add('opacity', 'float', clear);
  } else {
    builder.add('opacity', 'float', alpha, map, 'a');
    if (alphaMode === 'MASK') builder.add('opacityThreshold', 'float', toNumber(material.alphaCutoff, 0.5));
  }
  return tinted ? colour : null;
}

function addMetallic(
  builder: SurfaceBuilder,
  { pbrMetallicRoughness: pbr = {}, extensions, occlusionTexture }: MaterialJson,
): void {
  if (extensions?.KHR_materials_unlit) {
    builder.add('metallic', 'float', 0);
    builder.add('roughness', 'float', 1);
    return;
  }
  const [metallic, roughness] = [toNumber(pbr.metallicFactor, 1), toNumber(pbr.roughnessFactor, 1)];
  // shadows of folds often share the image, and then the texture
  const info = pbr.metallicRoughnessTexture;
  const strength = occlusionTexture && isSame(info, occlusionTexture) ? toNumber(occlusionTexture.strength, 1) : 0;
  const recipe: Recipe = {
    kind: 'data',
    scale: [strength || 1, roughness, metallic],
    offset: [strength ? 1 - strength : 0, 0, 0],
  };
  const map = builder.use(info, recipe);
  builder.add('metallic', 'float', metallic, map, 'b');
  builder.add('roughness', 'float', roughness, map, 'g');
  if (map && strength) builder.add('occlusion', 'float', null, map, 'r');
}

function isSame(one: TextureInfoJson | undefined, other: TextureInfoJson): boolean {
  if (!one || one.index !== other.index || texCoordOf(one) !== texCoordOf(other)) return false;
  return JSON.stringify(one.extensions ?? {}) === JSON.stringify(other.extensions ?? {});
}

function addGlossy(builder: SurfaceBuilder, glossy: Json): void {
  const [r, g, b] = toColour(glossy.specularFactor, [1, 1, 1]);
  const gloss = toNumber(glossy.glossinessFactor, 1);
  const info = glossy.specularGlossinessTexture;
  builder.add('useSpecularWorkflow', 'int', 1);
  builder.add(
    'specularColor',
    'color3f',
    [r!, g!, b!],
    builder.use(info, { kind: 'colour', factor: [r!, g!, b!], alpha: null }),
  );
  builder.add('roughness', 'float', 1 - gloss, builder.use(info, { kind: 'gloss', factor: gloss }), 'r');
}

function addRelief(
  builder: SurfaceBuilder,
  { normalTexture, occlusionTexture, pbrMetallicRoughness: pbr }: MaterialJson,
): void {
  const normal = builder.use(normalTexture, { kind: 'normal', scale: toNumber(normalTexture?.scale, 1) });
  if (normal) builder.add('normal', 'normal3f', null, normal);
  if (!occlusionTexture || builder.inputs.some(({ name }) => name === 'occlusion')) return;
  if (isSame(pbr?.metallicRoughnessTexture, occlusionTexture)) return;
  const strength = toNumber(occlusionTexture.strength, 1);
  const map = builder.use(occlusionTexture, { kind: 'data', scale: [strength, 1, 1], offset: [1 - strength, 0, 0] });
  if (map) builder.add('occlusion', 'float', null, map, 'r');
}

function addGlow(builder: SurfaceBuilder, material: MaterialJson, losses: Set<UsdLossCode>): void {
  if (builder.inputs.some(({ name }) => name === 'emissiveColor')) return;
  const { extensions = {}, emissiveTexture } = material;
  const strength = toNumber(extensions.KHR_materials_emissive_strength?.emissiveStrength, 1);
  const glow = toColour(material.emissiveFactor, [0, 0, 0]).map((value) => value * strength);
  const most = Math.max(...glow);
  if (most <= 0) return;
  // a map has no codes above 1
  const factor = glow.map((value) => value / Math.max(1, most)) as [number, number, number];
  const map = builder.use(emissiveTexture, { kind: 'colour', factor, alpha: null });
  if (map && most > 1) losses.add('emissive-strength');
  builder.add('emissiveColor', 'color3f', glow, map);
}

function addCoat(builder: SurfaceBuilder, coat: Json | undefined, losses: Set<UsdLossCode>): void {
  const amount = toNumber(coat?.clearcoatFactor, 0);
  if (!coat || amount <= 0) return;
  const roughness = toNumber(coat.clearcoatRoughnessFactor, 0);
  const scaled = (red: number, green: number): Recipe => ({ kind: 'data', scale: [red, green, 1], offset: [0, 0, 0] });
  builder.add('clearcoat', 'float', amount, builder.use(coat.clearcoatTexture, scaled(amount, 1)), 'r');
  const map = builder.use(coat.clearcoatRoughnessTexture, scaled(1, roughness));
  builder.add('clearcoatRoughness', 'float', roughness, map, 'g');
  if (coat.clearcoatNormalTexture !== undefined) losses.add('clearcoat-normal');
}

function toNumber(value: unknown, otherwise: number): number {
  return typeof value === 'number' && Number.isFinite(value) ? value : otherwise;
}

function toColour(value: unknown, otherwise: readonly number[]): number[] {
  const given = Array.isArray(value) ? value : [];
  return otherwise.map((standard, index) => toNumber(given[index], standard));
}
