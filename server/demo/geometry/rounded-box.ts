import type { Mesh, Vector } from './mesh.ts';
import { cross, mergeMeshes } from './mesh.ts';
import { gridIndices } from './sheet.ts';

/** Segments of the rounding on each edge of a face. */
const EDGE_SEGMENTS = 4;

/** A box with every edge rounded, about its centre; sizes in metres. Each face is laid out flat in `uv0`. */
export function makeRoundedBox(size: Vector, filletM: number): Mesh {
  const faces: (readonly [Vector, Vector])[] = [
    [
      [1, 0, 0],
      [0, 1, 0],
    ],
    [
      [-1, 0, 0],
      [0, 1, 0],
    ],
    [
      [0, 0, -1],
      [0, 1, 0],
    ],
    [
      [0, 0, 1],
      [0, 1, 0],
    ],
    [
      [1, 0, 0],
      [0, 0, -1],
    ],
    [
      [1, 0, 0],
      [0, 0, 1],
    ],
  ];
  return mergeMeshes(faces.map(([across, up]) => makeFace(size, filletM, across, up)));
}

function makeFace(size: Vector, fillet: number, across: Vector, up: Vector): Mesh {
  const out = cross(across, up);
  const half = (axis: Vector): number => Math.abs(axis[0] * size[0] + axis[1] * size[1] + axis[2] * size[2]) / 2;
  const [a, b, c] = [half(across), half(up), half(out)];
  const ticks = (extent: number): (readonly [core: number, tilt: number])[] => {
    // Angles up to 45° on each side: the neighbouring face goes on from there with the same normal.
    const list: (readonly [number, number])[] = [];
    for (let k = EDGE_SEGMENTS; k >= 0; k--)
      list.push([-(extent - fillet), -Math.tan((k / EDGE_SEGMENTS) * (Math.PI / 4))]);
    for (let k = 0; k <= EDGE_SEGMENTS; k++)
      list.push([extent - fillet, Math.tan((k / EDGE_SEGMENTS) * (Math.PI / 4))]);
    return list;
  };
  const columns = ticks(a);
  const rows = ticks(b);
  const positions: number[] = [];
  const normals: number[] = [];
  const uv0: number[] = [];
  const uv1: number[] = [];
  for (const [coreB, tiltB] of rows) {
    for (const [coreA, tiltA] of columns) {
      const l = Math.hypot(tiltA, tiltB, 1);
      const point = [coreA + (fillet * tiltA) / l, coreB + (fillet * tiltB) / l, c - fillet + fillet / l] as const;
      for (let k = 0; k < 3; k++) {
        positions.push(across[k]! * point[0] + up[k]! * point[1] + out[k]! * point[2]);
        normals.push((across[k]! * tiltA + up[k]! * tiltB + out[k]!) / l);
      }
      uv0.push(point[0], -point[1]);
      uv1.push(0.5, 0.5);
    }
  }
  return {
    positions: new Float32Array(positions),
    normals: new Float32Array(normals),
    uv0: new Float32Array(uv0),
    uv1: new Float32Array(uv1),
    indices: gridIndices(columns.length - 1, rows.length - 1),
  };
}
