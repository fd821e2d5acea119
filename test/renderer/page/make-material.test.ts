import { BufferGeometry, type Material } from 'three';
import { GLTFLoader } from 'three/addons/loaders/GLTFLoader.js';
import { describe, expect, it } from 'vitest';
import { createDocument } from '../../../renderer/page/gltf-document.ts';
import { makeMaterial, toFit } from '../../../renderer/page/make-material.ts';
import { createTextureStore } from '../../../renderer/page/texture-store.ts';

type Json = Record<string, unknown>;

/** A document with one material and its declared extensions, and a texture store without maps. */
function open(json: Json, extensionsUsed = Object.keys((json.extensions ?? {}) as Json)) {
  const document = createDocument({ materials: [json], extensionsUsed });
  const decode = () => Promise.reject(new Error('needs a browser'));
  return { document, textures: createTextureStore(document, { decode, dispose: () => undefined }) };
}

async function make(json: Json, extensionsUsed?: string[]): Promise<Material> {
  const { document, textures } = open(json, extensionsUsed);
  // three's loader makes them for geometry that has all attributes.
  const geometry = { hasAttribute: () => true } as unknown as BufferGeometry;
  return (await makeMaterial(document, json, textures, toFit(geometry, false))).material;
}

/** All properties of a material, except those that identify it. */
function listProperties(material: Material): Json {
  const { uuid: _, metadata: __, userData: ___, ...rest } = material.toJSON() as unknown as Json;
  return rest;
}

const LAYERS: Record<string, Json> = {
  KHR_materials_clearcoat: { clearcoatFactor: 0.7, clearcoatRoughnessFactor: 0.2 },
  KHR_materials_sheen: { sheenColorFactor: [0.1, 0.2, 0.3], sheenRoughnessFactor: 0.6 },
  KHR_materials_transmission: { transmissionFactor: 0.9 },
  KHR_materials_volume: { thicknessFactor: 0.01, attenuationDistance: 0.5, attenuationColor: [0.9, 0.5, 0.1] },
  KHR_materials_ior: { ior: 1.7 },
  KHR_materials_specular: { specularFactor: 0.4, specularColorFactor: [1, 0.5, 0.25] },
  KHR_materials_iridescence: {
    iridescenceFactor: 0.8,
    iridescenceIor: 1.6,
    iridescenceThicknessMinimum: 150,
    iridescenceThicknessMaximum: 350,
  },
  KHR_materials_anisotropy: { anisotropyStrength: 0.5, anisotropyRotation: 0.3 },
  KHR_materials_dispersion: { dispersion: 3 },
  KHR_materials_diffuse_roughness: { diffuseRoughnessFactor: 0.4 },
  KHR_materials_emissive_strength: { emissiveStrength: 4 },
  EXT_materials_bump: { bumpFactor: 0.5 },
};

describe('a material', () => {
  const cases: Record<string, Json> = {
    'with nothing said': {},
    plain: {
      name: 'Seat',
      pbrMetallicRoughness: { baseColorFactor: [0.2, 0.4, 0.6, 0.8], metallicFactor: 0.1, roughnessFactor: 0.3 },
      emissiveFactor: [0.1, 0, 0.2],
      doubleSided: true,
    },
    blended: { alphaMode: 'BLEND', pbrMetallicRoughness: { baseColorFactor: [1, 1, 1, 0.5] } },
    masked: { alphaMode: 'MASK' },
    'masked at a cutoff': { alphaMode: 'MASK', alphaCutoff: 0.3 },
    unlit: { extensions: { KHR_materials_unlit: {} }, pbrMetallicRoughness: { baseColorFactor: [0.2, 0.4, 0.6, 1] } },
    'an index of 0': { extensions: { KHR_materials_ior: { ior: 0 } } },
    'all layers': { extensions: LAYERS, emissiveFactor: [1, 1, 1] },
    ...Object.fromEntries(Object.entries(LAYERS).map(([name, values]) => [name, { extensions: { [name]: values } }])),
    ...Object.fromEntries(Object.keys(LAYERS).map((name) => [`${name}, empty`, { extensions: { [name]: {} } }])),
  };

  // Compared with three's own loader, which the studio does not use for this.
  it.each(Object.entries(cases))('equals the material of three’s loader: %s', async (_, json) => {
    const extensionsUsed = Object.keys((json.extensions ?? {}) as Json);
    const file = JSON.stringify({ asset: { version: '2.0' }, extensionsUsed, materials: [json] });
    const { parser } = await new GLTFLoader().parseAsync(file, '');
    expect(listProperties(await make(json))).toEqual(
      listProperties((await parser.getDependency('material', 0)) as Material),
    );
  });

  it.each<[string, Json]>([
    ['a colour of text', { pbrMetallicRoughness: { baseColorFactor: '#fff' } }],
    ['a colour of three numbers', { pbrMetallicRoughness: { baseColorFactor: [0.1, 0.2, 0.3] } }],
    ['a roughness of text', { pbrMetallicRoughness: { roughnessFactor: '0.5', metallicFactor: null } }],
    ['a roughness beyond single precision', { pbrMetallicRoughness: { roughnessFactor: 1e300 } }],
    ['missing maps', { pbrMetallicRoughness: { baseColorTexture: { index: 7 } }, emissiveTexture: 3 }],
    [
      'a value that is not an object',
      { pbrMetallicRoughness: 5, emissiveFactor: [0, 'x', 0], alphaMode: 4, name: { de: 'Sitz' } },
    ],
  ])('has glTF’s defaults instead of %s', async (_, json) => {
    expect(listProperties(await make(json))).toEqual(listProperties(await make({})));
  });

  it('lets no light through unless the file declares it', async () => {
    const json = { extensions: { KHR_materials_transmission: { transmissionFactor: 1 } } };
    expect(listProperties(await make(json, []))).toEqual(listProperties(await make({})));
  });

  it('turns normals up if tangents are made from UVs, is flat without normals, and tinted if wanted', async () => {
    const json = { normalTexture: { index: 0, scale: 0.5 } };
    const { document, textures } = open(json);
    const { material } = await makeMaterial(document, json, textures, toFit(new BufferGeometry(), true));
    // v of a map grows downwards, and glTF's bitangent points up (glTF 2.0 §3.9.3).
    expect(material).toMatchObject({ normalScale: { x: 0.5, y: -0.5 }, flatShading: true, vertexColors: false });
  });
});
