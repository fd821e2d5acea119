import type { Document } from '@gltf-transform/core';
import { EXTMeshoptCompression, KHRDracoMeshCompression } from '@gltf-transform/extensions';
import { quantize } from '@gltf-transform/functions';
import type { GltfJson } from '../../server/gltf/document/json.ts';
import { TRIANGLE_BIN, triangleGlb, triangleJson } from './bad-models.ts';
import { editGlb, makeGlb } from './glb.ts';
import { createIo } from './gltf-io.ts';
import { makeRichModel } from './rich-model.ts';

/** A triangle with these nine numbers as positions; its bounds are the finite ones. */
export function triangleOf(positions: readonly number[], more: Record<string, unknown> = {}): Buffer {
  const json = triangleJson(more) as unknown as GltfJson;
  const axes = [0, 1, 2].map((axis) => positions.filter((value, i) => i % 3 === axis && Number.isFinite(value)));
  Object.assign(json.accessors![0]!, {
    min: axes.map((values) => Math.fround(Math.min(0, ...values))),
    max: axes.map((values) => Math.fround(Math.max(0, ...values))),
  });
  return makeGlb(json, Buffer.from(new Float32Array(positions).buffer));
}

/** A triangle with indices, which may be wrong. */
export function indexedTriangle(indices: readonly number[], mode = 4, more: Record<string, unknown> = {}): Buffer {
  const list = Buffer.alloc(Math.ceil((indices.length * 2) / 4) * 4);
  list.set(new Uint8Array(new Uint16Array(indices).buffer));
  const json = triangleJson({
    meshes: [{ primitives: [{ attributes: { POSITION: 0 }, indices: 1, mode, material: 0 }] }],
    accessors: [
      { bufferView: 0, componentType: 5126, count: 3, type: 'VEC3', min: [0, 0, 0], max: [1, 1, 0] },
      { bufferView: 1, componentType: 5123, count: indices.length, type: 'SCALAR' },
    ],
    bufferViews: [
      { buffer: 0, byteLength: 36 },
      { buffer: 0, byteOffset: 36, byteLength: indices.length * 2 },
    ],
    buffers: [{ byteLength: 36 + list.length }],
    ...more,
  });
  return makeGlb(json, Buffer.concat([TRIANGLE_BIN, list]));
}

const write = async (document: Document) => Buffer.from(await (await createIo()).writeBinary(document));

/** A model with one of everything, plain, and with its geometry quantised or compressed. */
export async function makeRichModels(): Promise<Record<string, Buffer>> {
  const plain = await write(await makeRichModel());
  const quantised = await makeRichModel();
  await quantised.transform(quantize());
  const draco = await makeRichModel();
  draco.createExtension(KHRDracoMeshCompression).setRequired(true);
  const meshopt = await makeRichModel();
  meshopt.createExtension(EXTMeshoptCompression).setRequired(true);
  const filtered = await makeRichModel();
  await filtered.transform(quantize());
  filtered
    .createExtension(EXTMeshoptCompression)
    .setRequired(true)
    .setEncoderOptions({ method: EXTMeshoptCompression.EncoderMethod.FILTER });
  return {
    plain,
    quantised: await write(quantised),
    draco: await write(draco),
    meshopt: await write(meshopt),
    'meshopt with filters': await write(filtered),
    'with an extension nobody knows': editGlb(plain, (json) => {
      json.extensionsUsed = [...(json.extensionsUsed ?? []), 'ACME_hinges'];
      json.extensions = { ...json.extensions, ACME_hinges: { nodes: [1] } };
    }),
  };
}

const POINTER = (pointer: string) => ({
  channels: [{ sampler: 0, target: { path: 'pointer', extensions: { KHR_animation_pointer: { pointer } } } }],
  samplers: [{ input: 0, output: 0 }],
});

/** Models that are odd or broken in one way each, and still pass the check on arrival. */
export function listOddModels(): Record<string, Buffer> {
  const { accessors, bufferViews } = triangleJson() as unknown as GltfJson;
  const uri = `data:application/octet-stream;base64,${TRIANGLE_BIN.toString('base64')}`;
  // the validator's time grows with the square of the length
  const chain = 300;
  return {
    'NaN position': triangleOf([0, 0, 0, Number.NaN, 0, 0, 0, 1, 0]),
    'all positions NaN': triangleOf(new Array<number>(9).fill(Number.NaN)),
    'infinite position': triangleOf([0, 0, 0, Infinity, 0, 0, 0, 1, 0]),
    'huge positions': triangleOf([0, 0, 0, 3e38, 0, 0, 0, 3e38, 0]),
    'no bounds': triangleGlb({ accessors: [{ ...accessors![0], min: undefined, max: undefined }] }),
    'indices out of range': indexedTriangle([0, 1, 7, 65535, 2, 1]),
    'two indices': indexedTriangle([0, 1]),
    'no vertices': triangleGlb({ accessors: [{ ...accessors![0], count: 0 }] }),
    'no attributes': triangleGlb({ meshes: [{ primitives: [{ attributes: {} }] }] }),
    'no primitives': triangleGlb({ meshes: [{ primitives: [] }] }),
    points: triangleGlb({ meshes: [{ primitives: [{ attributes: { POSITION: 0 }, mode: 0, material: 0 }] }] }),
    lines: indexedTriangle([0, 1, 2], 3),
    strip: indexedTriangle([0, 1, 2, 0], 5, { nodes: [{ mesh: 0, scale: [-1, 2, 1] }] }),
    fan: indexedTriangle([0, 1, 2, 0], 6, { nodes: [{ mesh: 0, scale: [1, -2, 1] }] }),
    mirrored: triangleGlb({ nodes: [{ mesh: 0, scale: [-2, 1, 1], translation: [1, 2, 3] }] }),
    'scaled to nothing': triangleGlb({ nodes: [{ mesh: 0, scale: [0, 0, 0] }] }),
    flattened: triangleGlb({ nodes: [{ mesh: 0, scale: [1, 0, 1] }] }),
    'matrix of nothing': triangleGlb({ nodes: [{ mesh: 0, matrix: new Array<number>(16).fill(0) }] }),
    'positions for normals': triangleGlb({
      meshes: [{ primitives: [{ attributes: { POSITION: 0, NORMAL: 0 }, targets: [{ POSITION: 0 }] }] }],
      nodes: [{ mesh: 0, rotation: [0, 1, 0, 0], scale: [2, 2, 2] }],
    }),
    'normals of two numbers': triangleGlb({
      accessors: [...accessors!, { bufferView: 0, componentType: 5126, count: 3, type: 'VEC2' }],
      meshes: [{ primitives: [{ attributes: { POSITION: 0, NORMAL: 1, TANGENT: 1 } }] }],
      nodes: [{ mesh: 0, scale: [2, 2, 2] }],
    }),
    'attributes of other lengths': triangleGlb({
      accessors: [...accessors!, { bufferView: 0, componentType: 5126, count: 1, type: 'VEC3' }],
      meshes: [{ primitives: [{ attributes: { POSITION: 0, NORMAL: 1 }, targets: [{ POSITION: 1 }] }] }],
      nodes: [{ mesh: 0, scale: [2, 2, 2] }],
    }),
    'positions without a view': triangleGlb({ accessors: [{ ...accessors![0], bufferView: undefined }] }),
    'sparse positions': triangleGlb({
      accessors: [
        {
          ...accessors![0],
          min: undefined,
          max: undefined,
          bufferView: undefined,
          sparse: {
            count: 1,
            indices: { bufferView: 0, componentType: 5121 },
            values: { bufferView: 0, byteOffset: 12 },
          },
        },
      ],
      nodes: [{ mesh: 0, scale: [2, 2, 2] }],
    }),
    'no scene': triangleGlb({ scene: undefined, scenes: undefined }),
    'no default scene': triangleGlb({ scene: undefined }),
    'empty scene': triangleGlb({ scenes: [{}] }),
    'no nodes': triangleGlb({ scenes: undefined, scene: undefined, nodes: undefined }),
    'listed child': triangleGlb({
      scenes: [{ nodes: [0, 1] }],
      nodes: [{ children: [1], scale: [2, 2, 2] }, { mesh: 0 }],
    }),
    'deep chain': triangleGlb({
      nodes: Array.from({ length: chain }, (_, i) => (i + 1 < chain ? { children: [i + 1] } : { mesh: 0 })),
    }),
    'data URI': makeGlb(triangleJson({ buffers: [{ byteLength: 36, uri }] })),
    'second buffer': makeGlb(
      triangleJson({
        bufferViews: [{ ...bufferViews![0], buffer: 1 }],
        buffers: [{ byteLength: 4 }, { byteLength: 36, uri }],
        nodes: [{ mesh: 0, scale: [2, 2, 2] }],
      }),
      Buffer.alloc(4),
    ),
    'no buffers': makeGlb({ asset: { version: '2.0' }, scene: 0, scenes: [{ nodes: [0] }], nodes: [{}] }),
    'nothing at all': makeGlb({ asset: { version: '2.0' } }),
    'dangling targets': triangleGlb({
      animations: [{ channels: [{ sampler: 9, target: { node: 99, path: 'translation' } }], samplers: [] }],
      skins: [{ joints: [0], skeleton: 99 }],
    }),
    'targets of nothing': triangleGlb({ animations: [{ channels: [{ sampler: 0, target: {} }], samplers: [] }, {}] }),
    'driven place': triangleGlb({
      extensionsUsed: ['KHR_animation_pointer'],
      nodes: [{ mesh: 0, scale: [2, 2, 2] }],
      animations: [
        POINTER('/nodes/0/translation'),
        POINTER('/meshes/0/weights'),
        POINTER('/nodes/99/scale'),
        POINTER('x'),
      ],
    }),
    'unreadable Draco': triangleGlb({
      extensionsUsed: ['KHR_draco_mesh_compression'],
      nodes: [{ mesh: 0, scale: [2, 2, 2] }],
      meshes: [
        {
          primitives: [
            {
              attributes: { POSITION: 0 },
              extensions: { KHR_draco_mesh_compression: { bufferView: 0, attributes: { POSITION: 0 } } },
            },
          ],
        },
      ],
    }),
    'unreadable meshopt': triangleGlb({
      extensionsUsed: ['EXT_meshopt_compression'],
      nodes: [{ mesh: 0, scale: [2, 2, 2] }],
      bufferViews: [
        {
          buffer: 1,
          byteLength: 36,
          extensions: {
            EXT_meshopt_compression: { buffer: 0, byteLength: 36, byteStride: 12, count: 3, mode: 'ATTRIBUTES' },
          },
        },
      ],
      buffers: [{ byteLength: 36 }, { byteLength: 36, extensions: { EXT_meshopt_compression: { fallback: true } } }],
    }),
    'image that is none': triangleGlb({
      materials: [
        {
          name: 'Seat',
          pbrMetallicRoughness: { baseColorTexture: { index: 0 }, metallicRoughnessTexture: { index: 0 } },
        },
      ],
      textures: [{ source: 0 }],
      images: [{ bufferView: 0, mimeType: 'image/png' }],
    }),
    'texture without a source': triangleGlb({
      materials: [{ name: 'Seat', pbrMetallicRoughness: { baseColorTexture: { index: 0 } } }],
      textures: [{}],
    }),
    'material that is not there in a variant': triangleGlb({
      extensionsUsed: ['KHR_materials_variants'],
      extensions: { KHR_materials_variants: { variants: [{ name: 'a' }] } },
      meshes: [
        {
          primitives: [
            {
              attributes: { POSITION: 0 },
              material: 0,
              extensions: { KHR_materials_variants: { mappings: [{ material: 9, variants: [0] }] } },
            },
          ],
        },
      ],
    }),
  };
}
