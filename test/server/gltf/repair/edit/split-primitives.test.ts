import { expect, it } from 'vitest';
import type { GltfJson } from '../../../../../server/gltf/document/json.ts';
import { listTriangles } from '../../../../../server/gltf/geometry/list-triangles.ts';
import { ModelEdit } from '../../../../../server/gltf/repair/edit/model-edit.ts';
import { splitPrimitives } from '../../../../../server/gltf/repair/edit/split-primitives.ts';

// Winding of strips and fans: glTF 2.0 §3.7.2.1.

function makeEdit(mode: number): ModelEdit {
  const bin = Buffer.alloc(6 * 12);
  const json: GltfJson = {
    asset: { version: '2.0' },
    buffers: [{ byteLength: bin.length }],
    bufferViews: [{ buffer: 0, byteLength: bin.length }],
    accessors: [{ bufferView: 0, componentType: 5126, count: 6, type: 'VEC3' }],
    materials: [{}, {}, {}],
    meshes: [{ primitives: [{ attributes: { POSITION: 0 }, mode, material: 0 }] }],
    nodes: [{ mesh: 0 }],
    scenes: [{ nodes: [0] }],
  };
  return new ModelEdit(json, bin);
}

const split = (mode: number, materials: number[]) => {
  const edit = makeEdit(mode);
  splitPrimitives(edit, [{ node: 0, mesh: 0, primitive: 0, wanted: Int32Array.from(materials) }]);
  return edit.json.meshes![0]!.primitives.map((primitive) => ({
    material: primitive.material,
    mode: primitive.mode,
    corners: [...listTriangles(edit.loaded, primitive)!],
  }));
};

it('writes strips and fans out as triangles, each with the winding it had', () => {
  expect(split(5, [0, 1, 1, 0])).toEqual([
    { material: 0, mode: undefined, corners: [0, 1, 2, 3, 5, 4] },
    { material: 1, mode: undefined, corners: [1, 3, 2, 2, 3, 4] },
  ]);
  expect(split(6, [2, 2, 1, 2])).toEqual([
    { material: 1, mode: undefined, corners: [3, 4, 0] },
    { material: 2, mode: undefined, corners: [1, 2, 0, 2, 3, 0, 4, 5, 0] },
  ]);
});

it('leaves a primitive that changes as a whole as it is, but for its material', () => {
  expect(split(5, [1, 1, -1, 1])).toMatchObject([{ material: 1, mode: 5 }]);
});

it('lets triangles to which it is all the same stay with the first', () => {
  expect(split(5, [-1, 1, 0, -1])).toMatchObject([
    { material: 0, corners: [0, 1, 2, 2, 3, 4, 3, 5, 4] },
    { material: 1, corners: [1, 3, 2] },
  ]);
});
