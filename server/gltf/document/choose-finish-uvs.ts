import type { TextureTransform } from '../../core/delivery/repeat-transform.ts';
import type { GltfJson, MaterialJson, TextureInfoJson } from './json.ts';
import { readTransform, texCoordOf } from './read-material.ts';

/** The UV set that finish maps use on the parts of a material, and the transform of the part's own map on it. */
export interface FinishUvs {
  /** n of TEXCOORD_n. */
  readonly texCoord: number;
  readonly transform: TextureTransform;
  /** A finish is mirrored and turned like the part's colour map. Any other map only gives the size of a UV unit. */
  readonly isColourMap: boolean;
}

/**
 * Chooses the UV set of finish maps for each material, and for parts without one (null): the set of the colour map, which
 * the finish replaces, else TEXCOORD_0. Normal and roughness maps are often baked for a second set that covers the part
 * once, beside a first set made for repeats, so they never choose the set; on TEXCOORD_0 they give the size of a UV unit. A
 * set that no part of the material has is passed over.
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
