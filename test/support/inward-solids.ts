import type { Document, Material } from '@gltf-transform/core';
import { createDocument } from './build-model.ts';
import { addSolid, makeCube, makeGrid, type Solid } from './make-solid.ts';

/** The same surface with the opposite winding. */
export function reverse(solid: Solid): Solid {
  const indices = solid.indices.slice();
  for (let at = 0; at < indices.length; at += 3)
    [indices[at + 1], indices[at + 2]] = [indices[at + 2]!, indices[at + 1]!];
  return { ...solid, indices };
}

export const move = (solid: Solid, x: number, y: number, z: number): Solid => ({
  ...solid,
  positions: solid.positions.map((value, at) => value + [x, y, z][at % 3]!),
});

/** Only some of the triangles. */
export const keep = (solid: Solid, wanted: (triangle: number) => boolean): Solid => ({
  ...solid,
  indices: solid.indices.filter((_, at) => wanted(Math.floor(at / 3))),
});

export const tetrahedron: Solid = {
  positions: new Float32Array([0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0, 1]),
  uvs: new Float32Array(8),
  indices: new Uint32Array([0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3]),
};

/** A tube without ends, with its outside as the front: a shade, a lamp's collar. */
export const tube = makeGrid(6, 48, (u, v) => [
  0.3 * Math.cos(2 * Math.PI * u),
  0.4 * (1 - v),
  0.3 * Math.sin(2 * Math.PI * u),
]);

/** A horizontal square whose front faces up. */
export const sheet = makeGrid(4, 4, (u, v) => [u, 0, 1 - v]);

export const cube = makeCube(1);

export interface Kind {
  readonly doubleSided?: boolean;
  /** Normals on the side of the front, or the opposite side; none when left out. */
  readonly normals?: 'along' | 'against';
  readonly material?: Material;
}

/** Adds a solid to a document, with flat normals on request. */
export function addKind(document: Document, name: string, solid: Solid, kind: Kind = {}) {
  const { doubleSided = false, normals, material = document.createMaterial(name) } = kind;
  const node = addSolid(document, name, solid, material.setDoubleSided(doubleSided));
  if (normals) {
    const primitive = node.getMesh()!.listPrimitives()[0]!;
    const buffer = document.getRoot().listBuffers()[0]!;
    const values = listNormals(solid).map((value) => (normals === 'along' ? value : -value));
    const accessor = document.createAccessor().setType('VEC3').setBuffer(buffer);
    primitive.setAttribute('NORMAL', accessor.setArray(values as Float32Array<ArrayBuffer>));
  }
  return node;
}

/** One solid in a document of its own. */
export function makeKind(solid: Solid, kind: Kind = {}): Document {
  const document = createDocument();
  addKind(document, 'part', solid, kind);
  return document;
}

/** Mean of the triangles' normals at each vertex, weighted by area. */
function listNormals({ positions, indices }: Solid): Float32Array {
  const sums = new Float32Array(positions.length);
  for (let at = 0; at < indices.length; at += 3) {
    const [a, b, c] = [0, 1, 2].map((corner) =>
      [0, 1, 2].map((axis) => positions[indices[at + corner]! * 3 + axis]!),
    ) as [number[], number[], number[]];
    const u = b.map((value, axis) => value - a[axis]!);
    const v = c.map((value, axis) => value - a[axis]!);
    for (const corner of [0, 1, 2]) {
      for (const axis of [0, 1, 2]) {
        const [p, q] = [(axis + 1) % 3, (axis + 2) % 3];
        sums[indices[at + corner]! * 3 + axis]! += u[p]! * v[q]! - u[q]! * v[p]!;
      }
    }
  }
  for (let at = 0; at < sums.length; at += 3) {
    const length = Math.hypot(sums[at]!, sums[at + 1]!, sums[at + 2]!);
    // a vertex without area points up
    if (length === 0) sums.set([0, 1, 0], at);
    else for (const axis of [0, 1, 2]) sums[at + axis]! /= length;
  }
  return sums;
}
