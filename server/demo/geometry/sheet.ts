import type { Mesh, Vector } from './mesh.ts';

export interface SheetShape {
  /** Number of quads along the columns and the rows. */
  readonly columns: number;
  readonly rows: number;
  /** The last column meets the first: their normals are made one. */
  readonly closed?: boolean;
  /** First or last row is one point (a pole): it gets this normal. */
  readonly firstPole?: Vector;
  readonly lastPole?: Vector;
  /** Position in metres for `i` of `columns` and `j` of `rows`; columns × rows points outwards. */
  readonly point: (i: number, j: number) => Vector;
  readonly uv0: (i: number, j: number, point: Vector) => readonly [number, number];
  readonly uv1?: (i: number, j: number) => readonly [number, number];
}

/** A curved sheet over a rectangular grid, with normals smoothed over the grid's own triangles. */
export function makeSheet(shape: SheetShape): Mesh {
  const { columns, rows } = shape;
  const width = columns + 1;
  const count = width * (rows + 1);
  const positions = new Float32Array(count * 3);
  const uv0 = new Float32Array(count * 2);
  const uv1 = new Float32Array(count * 2);
  for (let j = 0; j <= rows; j++) {
    for (let i = 0; i <= columns; i++) {
      const at = j * width + i;
      const point = shape.point(i, j);
      positions.set(point, at * 3);
      uv0.set(shape.uv0(i, j, point), at * 2);
      uv1.set(shape.uv1?.(i, j) ?? [i / columns, j / rows], at * 2);
    }
  }
  const indices = gridIndices(columns, rows, shape.firstPole !== undefined, shape.lastPole !== undefined);
  const normals = smoothNormals(positions, indices);
  if (shape.closed) {
    for (let j = 0; j <= rows; j++) shareNormal(normals, j * width, j * width + columns);
  }
  if (shape.firstPole) for (let i = 0; i <= columns; i++) normals.set(shape.firstPole, i * 3);
  if (shape.lastPole) for (let i = 0; i <= columns; i++) normals.set(shape.lastPole, (rows * width + i) * 3);
  normaliseAll(normals);
  return { positions, normals, uv0, uv1, indices };
}

/** Two triangles for each quad; the half that a pole makes empty is left out. */
export function gridIndices(columns: number, rows: number, firstPole = false, lastPole = false): Uint32Array {
  const indices: number[] = [];
  const width = columns + 1;
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      const a = j * width + i;
      if (!(firstPole && j === 0)) indices.push(a, a + 1, a + width + 1);
      if (!(lastPole && j === rows - 1)) indices.push(a, a + width + 1, a + width);
    }
  }
  return new Uint32Array(indices);
}

/** Sum of the area vectors of the triangles around each vertex, not yet of unit length. */
function smoothNormals(p: Float32Array, indices: Uint32Array): Float32Array {
  const normals = new Float32Array(p.length);
  for (let t = 0; t < indices.length; t += 3) {
    const a = indices[t]! * 3;
    const b = indices[t + 1]! * 3;
    const c = indices[t + 2]! * 3;
    const ux = p[b]! - p[a]!;
    const uy = p[b + 1]! - p[a + 1]!;
    const uz = p[b + 2]! - p[a + 2]!;
    const vx = p[c]! - p[a]!;
    const vy = p[c + 1]! - p[a + 1]!;
    const vz = p[c + 2]! - p[a + 2]!;
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    for (const at of [a, b, c]) {
      normals[at] = normals[at]! + nx;
      normals[at + 1] = normals[at + 1]! + ny;
      normals[at + 2] = normals[at + 2]! + nz;
    }
  }
  return normals;
}

function shareNormal(normals: Float32Array, a: number, b: number): void {
  for (let k = 0; k < 3; k++) {
    const sum = normals[a * 3 + k]! + normals[b * 3 + k]!;
    normals[a * 3 + k] = sum;
    normals[b * 3 + k] = sum;
  }
}

function normaliseAll(normals: Float32Array): void {
  for (let i = 0; i < normals.length; i += 3) {
    const length = Math.hypot(normals[i]!, normals[i + 1]!, normals[i + 2]!) || 1;
    for (let k = 0; k < 3; k++) normals[i + k] = normals[i + k]! / length;
  }
}
