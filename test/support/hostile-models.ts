import { glbWithImage, pngHeader, TRIANGLE_BIN, triangleJson } from './bad-models.ts';
import { makeGlb } from './glb.ts';
import { KTX2 } from './ktx2.ts';

type Json = Record<string, unknown>;
const many = <T>(count: number, make: (index: number) => T): T[] => Array.from({ length: count }, (_, i) => make(i));
const triangle = (more: Json): Buffer => makeGlb(triangleJson(more), TRIANGLE_BIN);
const POSITION = { bufferView: 0, componentType: 5126, count: 3, type: 'VEC3', min: [0, 0, 0], max: [1, 1, 0] };
/** One red pixel. */
const PNG =
  'data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAIAAACQd1PeAAAADElEQVQI12P4z8AAAAMBAQAY3Y2wAAAAAElFTkSuQmCC';
const PRIMITIVE = { attributes: { POSITION: 0 }, material: 0 };

/**
 * Models made to cost far more than their bytes. Each has one thing many times, so that the work at two sizes tells
 * whether it grows faster than the file.
 */
export const GROWING_MODELS: Readonly<Record<string, (count: number) => Buffer>> = {
  'deep chain': (count) =>
    triangle({ nodes: many(count, (i) => (i + 1 < count ? { children: [i + 1] } : { mesh: 0 })) }),
  'deep chain of transforms': (count) =>
    triangle({
      nodes: many(count, (i) => ({
        translation: [0, 0, 0.001],
        ...(i + 1 < count ? { children: [i + 1] } : { mesh: 0 }),
      })),
    }),
  'deep chain from the end': (count) =>
    triangle({
      scenes: [{ nodes: [count - 1] }],
      nodes: many(count, (i) => (i > 0 ? { children: [i - 1] } : { mesh: 0 })),
    }),
  'chain that a scene lists': (count) =>
    triangle({
      scenes: [{ nodes: many(count, (i) => i) }],
      nodes: many(count, (i) => (i + 1 < count ? { children: [i + 1] } : { mesh: 0 })),
    }),
  'chain that hides': (count) =>
    triangle({
      extensionsUsed: ['KHR_node_visibility'],
      nodes: many(count, (i) => ({
        mesh: 0,
        extensions: { KHR_node_visibility: { visible: false } },
        ...(i + 1 < count && { children: [i + 1] }),
      })),
    }),
  'many scenes of one node': (count) => triangle({ scenes: many(count, () => ({ nodes: [0] })) }),
  'wide fan': (count) => triangle({ nodes: [{ children: many(count, (i) => i + 1) }, ...many(count, () => ({}))] }),
  'many nodes of one mesh': (count) =>
    triangle({ scenes: [{ nodes: many(count, (i) => i) }], nodes: many(count, (i) => ({ mesh: 0, name: `n${i}` })) }),
  'many materials': (count) => triangle({ materials: many(count, () => ({ name: 'Seat' })) }),
  'many meshes': (count) =>
    triangle({
      scenes: [{ nodes: many(count, (i) => i) }],
      nodes: many(count, (i) => ({ mesh: i })),
      meshes: many(count, () => ({ primitives: [PRIMITIVE] })),
    }),
  'many primitives of one mesh': (count) => triangle({ meshes: [{ primitives: many(count, () => PRIMITIVE) }] }),
  'many primitives and materials': (count) =>
    triangle({
      materials: many(count, (i) => ({ name: `m${i}` })),
      meshes: [{ primitives: many(count, (i) => ({ attributes: { POSITION: 0 }, material: i })) }],
    }),
  'many materials with maps and UVs': (count) =>
    triangle({
      materials: many(count, () => ({
        normalTexture: { index: 0 },
        pbrMetallicRoughness: { baseColorTexture: { index: 0 } },
      })),
      textures: [{ source: 0 }],
      images: [{ uri: PNG }],
      accessors: [POSITION, { bufferView: 0, componentType: 5126, count: 3, type: 'VEC2' }],
      meshes: [{ primitives: many(count, (i) => ({ attributes: { POSITION: 0, TEXCOORD_0: 1 }, material: i })) }],
    }),
  'many empty accessors': (count) =>
    triangle({ accessors: [POSITION, ...many(count, () => ({ componentType: 5126, count: 0, type: 'SCALAR' }))] }),
  'many views of the same bytes': (count) =>
    triangle({ bufferViews: many(count, () => ({ buffer: 0, byteLength: 36 })) }),
  'many buffers': (count) =>
    triangle({ buffers: [{ byteLength: 36 }, ...many(count, () => ({ byteLength: 0, uri: 'data:,' }))] }),
  'many textures of one image': (count) =>
    triangle({
      materials: many(count, (i) => ({ pbrMetallicRoughness: { baseColorTexture: { index: i } } })),
      textures: many(count, () => ({ source: 0 })),
      images: [{ bufferView: 0, mimeType: 'image/png' }],
    }),
  'many images': (count) =>
    triangle({
      materials: many(count, (i) => ({ pbrMetallicRoughness: { baseColorTexture: { index: i } } })),
      textures: many(count, (i) => ({ source: i })),
      images: many(count, () => ({ bufferView: 0, mimeType: 'image/png' })),
    }),
  'many morph targets': (count) =>
    triangle({
      meshes: [
        {
          weights: many(count, () => 0),
          primitives: [{ ...PRIMITIVE, targets: many(count, () => ({ POSITION: 0 })) }],
        },
      ],
    }),
  'many channels': (count) =>
    triangle({
      accessors: [POSITION, { bufferView: 0, componentType: 5126, count: 1, type: 'SCALAR', min: [0], max: [0] }],
      animations: [
        {
          channels: many(count, () => ({ sampler: 0, target: { node: 0, path: 'translation' } })),
          samplers: [{ input: 1, output: 1 }],
        },
      ],
    }),
  'many animations': (count) =>
    triangle({
      accessors: [POSITION, { bufferView: 0, componentType: 5126, count: 1, type: 'SCALAR', min: [0], max: [0] }],
      animations: many(count, () => ({
        channels: [{ sampler: 0, target: { node: 0, path: 'translation' } }],
        samplers: [{ input: 1, output: 1 }],
      })),
    }),
  'many animations that play nothing': (count) => triangle({ animations: many(count, () => ({})) }),
  'many variants': (count) =>
    triangle({
      extensionsUsed: ['KHR_materials_variants'],
      extensions: { KHR_materials_variants: { variants: many(count, (i) => ({ name: `v${i}` })) } },
      meshes: [
        {
          primitives: [
            {
              ...PRIMITIVE,
              extensions: {
                KHR_materials_variants: { mappings: many(count, (i) => ({ material: 0, variants: [i] })) },
              },
            },
          ],
        },
      ],
    }),
  'many joints': (count) =>
    triangle({
      nodes: [{ mesh: 0, skin: 0 }, ...many(count, () => ({}))],
      scenes: [{ nodes: many(count + 1, (i) => i) }],
      skins: [{ joints: many(count, (i) => i + 1) }],
    }),
  'many skins': (count) =>
    triangle({
      nodes: [...many(count, (i) => ({ mesh: 0, skin: i })), {}],
      scenes: [{ nodes: many(count + 1, (i) => i) }],
      skins: many(count, () => ({ joints: [count] })),
    }),
  'many damaged values': (count) => triangle({ materials: many(count, () => ({ alphaCutoff: 'x', alphaMode: 'NO' })) }),
  'many extension names': (count) => triangle({ extensionsUsed: many(count, (i) => `ACME_${i}`) }),
  'many attributes': (count) =>
    triangle({
      meshes: [
        {
          primitives: [
            { ...PRIMITIVE, attributes: Object.fromEntries(many(count, (i) => [i ? `_A${i}` : 'POSITION', 0])) },
          ],
        },
      ],
    }),
  'many uv sets': (count) =>
    triangle({
      meshes: [
        {
          primitives: [
            { ...PRIMITIVE, attributes: Object.fromEntries(many(count, (i) => [i ? `TEXCOORD_${i}` : 'POSITION', 0])) },
          ],
        },
      ],
    }),
  'many extras': (count) => triangle({ extras: many(count, () => ({})) }),
};

/** Files of a few kilobytes that claim what would fill the memory. */
export const BOMBS: Readonly<Record<string, () => Buffer>> = {
  'indices of billions in a buffer of bytes': () =>
    triangle({
      accessors: [POSITION, { bufferView: 0, componentType: 5125, count: 4_000_000_000, type: 'SCALAR' }],
      meshes: [{ primitives: [{ ...PRIMITIVE, indices: 1 }] }],
    }),
  'positions of billions in a buffer without bytes': () =>
    triangle({
      accessors: [{ ...POSITION, bufferView: 1, count: 300_000_000 }],
      bufferViews: [
        { buffer: 0, byteLength: 36 },
        { buffer: 1, byteLength: 2 ** 42 },
      ],
      buffers: [{ byteLength: 36 }, { byteLength: 2 ** 42 }],
    }),
  'zeros of billions by sparse accessors': () =>
    triangle({
      accessors: many(40, () => ({
        componentType: 5126,
        count: 60_000_000,
        type: 'VEC3',
        sparse: { count: 1, indices: { bufferView: 0, componentType: 5121 }, values: { bufferView: 0 } },
      })),
      meshes: [{ primitives: many(40, (i) => ({ attributes: { POSITION: i } })) }],
    }),
  'a view that meshopt unpacks to terabytes': () =>
    triangle({
      extensionsUsed: ['EXT_meshopt_compression'],
      bufferViews: [
        {
          buffer: 1,
          byteLength: 2 ** 41,
          byteStride: 12,
          extensions: {
            EXT_meshopt_compression: { buffer: 0, byteLength: 36, byteStride: 12, count: 2 ** 37, mode: 'ATTRIBUTES' },
          },
        },
      ],
      buffers: [
        { byteLength: 36 },
        { byteLength: 2 ** 41, extensions: { EXT_meshopt_compression: { fallback: true } } },
      ],
    }),
  'a mesh drawn by instances of billions': () =>
    triangle({
      extensionsUsed: ['EXT_mesh_gpu_instancing'],
      accessors: [POSITION, { componentType: 5126, count: 4_000_000_000, type: 'VEC3' }],
      nodes: [{ mesh: 0, extensions: { EXT_mesh_gpu_instancing: { attributes: { TRANSLATION: 1 } } } }],
    }),
  'a scene of a million draws': () =>
    triangle({
      meshes: [{ primitives: many(1100, () => PRIMITIVE) }],
      nodes: many(1000, () => ({ mesh: 0 })),
      scenes: [{ nodes: many(1000, (i) => i) }],
    }),
  'a PNG of billions of pixels': () => glbWithImage(pngHeader(100_000, 100_000)),
  'a PNG of the largest size, without its pixels': () => glbWithImage(pngHeader(8000, 8000)),
  'a KTX2 of billions of pixels': () => {
    const image = Buffer.from(KTX2.etc1s);
    image.writeUInt32LE(200_000, 20);
    image.writeUInt32LE(200_000, 24);
    return glbWithImage(image);
  },
  'extras nested 10,000 deep': () =>
    makeGlb(
      JSON.stringify(triangleJson({ extras: 'DEEP' })).replace(
        '"DEEP"',
        `${'{"a":'.repeat(10_000)}1${'}'.repeat(10_000)}`,
      ),
      TRIANGLE_BIN,
    ),
  'brackets nested a million deep': () => makeGlb(`${'['.repeat(1_000_000)}${']'.repeat(1_000_000)}`, TRIANGLE_BIN),
};
