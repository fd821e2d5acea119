/** Three numbers: a point or direction in metres, +Y up, +Z to the front. */
export type Vector = readonly [number, number, number];

/**
 * Triangles ready for glTF. Positions in metres; `uv0` in metres along the surface (1 unit = 1 m, warp or grain along
 * V), `uv1` for the maps that belong to this part. Counter-clockwise from outside.
 */
export interface Mesh {
  readonly positions: Float32Array;
  readonly normals: Float32Array;
  readonly uv0: Float32Array;
  readonly uv1: Float32Array;
  readonly indices: Uint32Array;
}

/** Joins meshes into one, in the order given. */
export function mergeMeshes(meshes: readonly Mesh[]): Mesh {
  const join = (of: (mesh: Mesh) => Float32Array): Float32Array => {
    const joined = new Float32Array(meshes.reduce((sum, mesh) => sum + of(mesh).length, 0));
    let at = 0;
    for (const mesh of meshes) {
      joined.set(of(mesh), at);
      at += of(mesh).length;
    }
    return joined;
  };
  const indices = new Uint32Array(meshes.reduce((sum, mesh) => sum + mesh.indices.length, 0));
  let at = 0;
  let base = 0;
  for (const mesh of meshes) {
    for (const index of mesh.indices) indices[at++] = index + base;
    base += mesh.positions.length / 3;
  }
  return {
    positions: join((mesh) => mesh.positions),
    normals: join((mesh) => mesh.normals),
    uv0: join((mesh) => mesh.uv0),
    uv1: join((mesh) => mesh.uv1),
    indices,
  };
}

/** The placement of a part: its local axes as unit vectors (a rotation, no mirroring), then its origin. */
export interface Placement {
  readonly x: Vector;
  readonly y: Vector;
  readonly z: Vector;
  readonly origin: Vector;
}

/** Moves and turns a mesh; its size and UVs do not change. */
export function placeMesh(mesh: Mesh, { x, y, z, origin }: Placement): Mesh {
  const turn = (source: Float32Array, offset: Vector): Float32Array => {
    const turned = new Float32Array(source.length);
    for (let i = 0; i < source.length; i += 3) {
      const a = source[i]!;
      const b = source[i + 1]!;
      const c = source[i + 2]!;
      for (let k = 0; k < 3; k++) turned[i + k] = a * x[k]! + b * y[k]! + c * z[k]! + offset[k]!;
    }
    return turned;
  };
  return { ...mesh, positions: turn(mesh.positions, origin), normals: turn(mesh.normals, [0, 0, 0]) };
}

/** A placement at `origin` whose local +Y runs along `axis`. */
export function alongAxis(origin: Vector, axis: Vector): Placement {
  const y = normalise(axis);
  // Any vector not parallel to the axis gives a frame; +Z keeps the lathe's seam at the back where possible.
  const helper: Vector = Math.abs(y[2]) < 0.9 ? [0, 0, 1] : [0, 1, 0];
  const x = normalise(cross(y, helper));
  return { x, y, z: cross(x, y), origin };
}

export function moveMesh(mesh: Mesh, origin: Vector): Mesh {
  return placeMesh(mesh, { x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1], origin });
}

export function cross(a: Vector, b: Vector): Vector {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

export function normalise(a: Vector): Vector {
  const length = Math.hypot(a[0], a[1], a[2]) || 1;
  return [a[0] / length, a[1] / length, a[2] / length];
}

/** `a + b × t`. */
export function add(a: Vector, b: Vector, t = 1): Vector {
  return [a[0] + b[0] * t, a[1] + b[1] * t, a[2] + b[2] * t];
}

/**
 * Tangents along U of `uv1`, for parts with a normal map of their own. In such parts `uv0` runs the same way, so that
 * the tangents also fit a finish's map. W is +1 where the map is not mirrored (V runs down the image).
 */
export function makeTangents({ positions: p, normals, uv1, indices }: Mesh): Float32Array {
  const count = p.length / 3;
  const alongU = new Float64Array(count * 3);
  const alongV = new Float64Array(count * 3);
  for (let t = 0; t < indices.length; t += 3) {
    const [a, b, c] = [indices[t]!, indices[t + 1]!, indices[t + 2]!];
    const u1 = uv1[b * 2]! - uv1[a * 2]!;
    const v1 = uv1[b * 2 + 1]! - uv1[a * 2 + 1]!;
    const u2 = uv1[c * 2]! - uv1[a * 2]!;
    const v2 = uv1[c * 2 + 1]! - uv1[a * 2 + 1]!;
    const determinant = u1 * v2 - u2 * v1;
    if (Math.abs(determinant) < 1e-14) continue;
    for (let k = 0; k < 3; k++) {
      const e1 = p[b * 3 + k]! - p[a * 3 + k]!;
      const e2 = p[c * 3 + k]! - p[a * 3 + k]!;
      const du = (e1 * v2 - e2 * v1) / determinant;
      const dv = (e2 * u1 - e1 * u2) / determinant;
      for (const at of [a, b, c]) {
        alongU[at * 3 + k] = alongU[at * 3 + k]! + du;
        alongV[at * 3 + k] = alongV[at * 3 + k]! + dv;
      }
    }
  }
  const tangents = new Float32Array(count * 4);
  for (let i = 0; i < count; i++) {
    const [nx, ny, nz] = [normals[i * 3]!, normals[i * 3 + 1]!, normals[i * 3 + 2]!];
    const along = nx * alongU[i * 3]! + ny * alongU[i * 3 + 1]! + nz * alongU[i * 3 + 2]!;
    let x = alongU[i * 3]! - nx * along;
    let y = alongU[i * 3 + 1]! - ny * along;
    let z = alongU[i * 3 + 2]! - nz * along;
    let length = Math.hypot(x, y, z);
    if (length < 1e-9) {
      // A place without a map direction, as on the button: any direction in the surface works.
      [x, y, z] = Math.abs(ny) < 0.9 ? [nz, 0, -nx] : [0, -nz, ny];
      length = Math.hypot(x, y, z);
    }
    [x, y, z] = [x / length, y / length, z / length];
    const up =
      (ny * z - nz * y) * alongV[i * 3]! +
      (nz * x - nx * z) * alongV[i * 3 + 1]! +
      (nx * y - ny * x) * alongV[i * 3 + 2]!;
    tangents.set([x, y, z, up > 0 ? -1 : 1], i * 4);
  }
  return tangents;
}

interface SheetShape {
  /** Number of quads along the columns and the rows. */
  readonly columns: number;
  readonly rows: number;
  /** The last column meets the first: they share their normals. */
  readonly closed?: boolean;
  /** First or last row is one point (a pole) with this normal. */
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

/** Two triangles for each quad, without the half that a pole makes empty. */
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

/** Sum of the area vectors of the triangles around each vertex, not normalised yet. */
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
