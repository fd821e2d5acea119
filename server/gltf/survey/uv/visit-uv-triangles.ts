import type { ScenePart } from '../../geometry/place-scene.ts';

/** A part with its UVs, the piece of each triangle, and which side is its front. */
export interface UvPart extends Pick<ScenePart, 'triangles' | 'first'> {
  readonly uvs: Float32Array;
  readonly pieceOfTriangle: Int32Array;
  /** -1 under a mirror, which reverses the order of corners. */
  readonly facing: 1 | -1;
}

/** A triangle that has UVs: its edges, the steps in UV along them, and its outward normal, of unit length. */
export interface UvTriangle {
  piece: number;
  area: number;
  nx: number;
  ny: number;
  nz: number;
  e1: [number, number, number];
  e2: [number, number, number];
  u1: number;
  v1: number;
  u2: number;
  v2: number;
  /** Corners, as places in the list of points. */
  corners: [number, number, number];
}

/**
 * Calls `visit` for every triangle that has an area and UVs. The same object is passed each time, so do not keep it.
 * @param only the one piece to visit; null for all
 */
export function visitUvTriangles(
  parts: readonly UvPart[],
  points: Float32Array,
  visit: (triangle: UvTriangle) => void,
  only: number | null = null,
): void {
  const t: UvTriangle = {
    piece: -1,
    area: 0,
    nx: 0,
    ny: 0,
    nz: 0,
    e1: [0, 0, 0],
    e2: [0, 0, 0],
    u1: 0,
    v1: 0,
    u2: 0,
    v2: 0,
    corners: [0, 0, 0],
  };
  for (const { triangles, first, uvs, pieceOfTriangle, facing } of parts) {
    for (let index = 0, at = 0; index < pieceOfTriangle.length; index++, at += 3) {
      const piece = pieceOfTriangle[index]!;
      if (piece < 0 || (only !== null && piece !== only)) continue;
      const a = triangles[at]!;
      const b = triangles[at + 1]!;
      const c = triangles[at + 2]!;
      if (a * 2 >= uvs.length || b * 2 >= uvs.length || c * 2 >= uvs.length) continue;
      t.u1 = uvs[b * 2]! - uvs[a * 2]!;
      t.v1 = uvs[b * 2 + 1]! - uvs[a * 2 + 1]!;
      t.u2 = uvs[c * 2]! - uvs[a * 2]!;
      t.v2 = uvs[c * 2 + 1]! - uvs[a * 2 + 1]!;
      const flat = t.u1 * t.v2 - t.u2 * t.v1;
      if (!(flat !== 0 && Number.isFinite(flat))) continue;
      const pa = (t.corners[0] = (first + a) * 3);
      const pb = (t.corners[1] = (first + b) * 3);
      const pc = (t.corners[2] = (first + c) * 3);
      for (let axis = 0; axis < 3; axis++) {
        t.e1[axis] = points[pb + axis]! - points[pa + axis]!;
        t.e2[axis] = points[pc + axis]! - points[pa + axis]!;
      }
      const nx = t.e1[1] * t.e2[2] - t.e1[2] * t.e2[1];
      const ny = t.e1[2] * t.e2[0] - t.e1[0] * t.e2[2];
      const nz = t.e1[0] * t.e2[1] - t.e1[1] * t.e2[0];
      const length = Math.sqrt(nx * nx + ny * ny + nz * nz);
      if (!(length > 0 && length < Infinity)) continue;
      t.piece = piece;
      t.area = length / 2;
      t.nx = (facing * nx) / length;
      t.ny = (facing * ny) / length;
      t.nz = (facing * nz) / length;
      visit(t);
    }
  }
}
