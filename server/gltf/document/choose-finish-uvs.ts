import type { TextureTransform } from '../../core/delivery/uv-map.ts';
import type { GltfJson, MaterialJson, TextureInfoJson } from './json.ts';
import { readTransform, texCoordOf } from './texture-transform.ts';

/** The UVs that finishes are laid by on a material's parts, and how the part's own map lies in them. */
export interface FinishUvs {
  /** n of TEXCOORD_n. */
  readonly texCoord: number;
  readonly transform: TextureTransform;
  /** Whether it is a colour map: finishes are mirrored and turned as that is. Any other says only what a unit is. */
  readonly isColourMap: boolean;
}

/**
 * Chooses for each material, and for parts without one (null), the UVs finishes are laid by: those of its colour map, which
 * a finish takes the place of, else TEXCOORD_0. Normals and roughness are often baked for a second set that covers the part
 * once, beside a first that is laid for repeats; so they never choose the set. On TEXCOORD_0 they say what a unit is. A set
 * that none of the parts has is passed over.
 */
export function chooseFinishUvs({ materials = [], meshes = [] }: GltfJson): Map<number | null, FinishUvs> {
  const sets = new Map<number | null, Set<string>>();
  for (const { attributes, material = null } of meshes.flatMap(({ primitives }) => primitives)) {
    const known = sets.get(material) ?? new Set();
    sets.set(material, known);
    for (const name of Object.keys(attributes)) known.add(name);
  }
  const chosen = new Map<number | null, FinishUvs>([[null, PLAIN]]);
  materials.forEach((material, index) => {
    const [map] = listMaps(material).filter(({ info }) => sets.get(index)?.has(`TEXCOORD_${texCoordOf(info)}`));
    chosen.set(index, map ? toFinishUvs(map) : PLAIN);
  });
  return chosen;
}

const PLAIN: FinishUvs = { texCoord: 0, transform: {}, isColourMap: true };

interface OwnMap {
  readonly info: TextureInfoJson;
  readonly isColourMap: boolean;
}

function toFinishUvs({ info, isColourMap }: OwnMap): FinishUvs {
  const transform = readTransform(info.extensions?.KHR_texture_transform ?? {});
  return { texCoord: texCoordOf(info), transform, isColourMap };
}

function listMaps({ pbrMetallicRoughness: pbr, normalTexture, extensions }: MaterialJson): OwnMap[] {
  const glossy = extensions?.KHR_materials_pbrSpecularGlossiness as
    | { diffuseTexture?: TextureInfoJson; specularGlossinessTexture?: TextureInfoJson }
    | undefined;
  const colour = glossy?.diffuseTexture ?? pbr?.baseColorTexture;
  const others = [normalTexture, glossy?.specularGlossinessTexture ?? pbr?.metallicRoughnessTexture];
  return [
    ...(colour ? [{ info: colour, isColourMap: true }] : []),
    ...others.flatMap((info) => (info && texCoordOf(info) === 0 ? [{ info, isColourMap: false }] : [])),
  ];
}
