import { describe, expect, it } from 'vitest';
import { chooseFinishUvs } from '../../../../server/gltf/document/choose-finish-uvs.ts';
import type { GltfJson, MaterialJson } from '../../../../server/gltf/document/json.ts';

/** The choice for a material whose parts have so many sets of UVs. */
function choose(material: MaterialJson, sets = 3) {
  const attributes = Object.fromEntries(Array.from({ length: sets }, (_, n) => [`TEXCOORD_${n}`, n]));
  const json: GltfJson = {
    asset: { version: '2.0' },
    materials: [material],
    meshes: [{ primitives: [{ attributes, material: 0 }] }],
  };
  return chooseFinishUvs(json).get(0)!;
}

const map = (texCoord: number, transform?: Record<string, unknown>) => ({
  index: 0,
  texCoord,
  ...(transform && { extensions: { KHR_texture_transform: transform } }),
});

describe('the UVs that finishes are laid by', () => {
  it('are those of the colour map, else the first; maps baked for a second set do not choose', () => {
    const all: MaterialJson = {
      pbrMetallicRoughness: { baseColorTexture: map(2), metallicRoughnessTexture: map(1) },
      normalTexture: map(0),
    };
    expect(choose(all)).toEqual({ texCoord: 2, transform: {}, isColourMap: true });
    const plain = { texCoord: 0, transform: {}, isColourMap: true };
    expect(choose({ normalTexture: map(1), pbrMetallicRoughness: { metallicRoughnessTexture: map(2) } })).toEqual(
      plain,
    );
    const scaled = { scale: [4, 2] };
    expect(choose({ normalTexture: map(0, scaled) })).toEqual({ texCoord: 0, transform: scaled, isColourMap: false });
    expect(choose({ pbrMetallicRoughness: { metallicRoughnessTexture: map(0, scaled) } })).toEqual({
      texCoord: 0,
      transform: scaled,
      isColourMap: false,
    });
    expect(choose({ occlusionTexture: map(1) })).toEqual({ texCoord: 0, transform: {}, isColourMap: true });
    const glossy = { KHR_materials_pbrSpecularGlossiness: { diffuseTexture: map(1) } };
    expect(choose({ extensions: glossy })).toMatchObject({ texCoord: 1, isColourMap: true });
  });

  // KHR_texture_transform: texCoord overrides the texture info's where the extension is supported
  it('are named by the transform where it names a set', () => {
    const transform = { texCoord: 1, scale: [2, -3], rotation: 0.5 };
    expect(choose({ pbrMetallicRoughness: { baseColorTexture: map(0, transform) } })).toEqual({
      texCoord: 1,
      transform: { scale: [2, -3], rotation: 0.5 },
      isColourMap: true,
    });
  });

  it('are not a set that no part has', () => {
    const material = { pbrMetallicRoughness: { baseColorTexture: map(2) }, normalTexture: map(1) };
    expect(choose(material, 2)).toMatchObject({ texCoord: 0 });
    expect(choose(material, 1)).toMatchObject({ texCoord: 0 });
  });
});
