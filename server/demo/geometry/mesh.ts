/** Three numbers: a point or direction in metres, +Y up, +Z to the front. */
export type Vector = readonly [number, number, number];

/**
 * Triangles ready for glTF. Positions in metres; `uv0` in metres along the surface (1 unit = 1 m, warp or grain
 * along V), `uv1` for the maps that belong to the part alone. Counter-clockwise from outside.
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

/** Where a part is put: its local axes as unit vectors (a rotation, no mirroring), then its origin. */
export interface Placement {
  readonly x: Vector;
  readonly y: Vector;
  readonly z: Vector;
  readonly origin: Vector;
}

/** Moves and turns a mesh; true size and UVs stay as they are. */
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
  // Any vector not parallel to the axis gives a frame; +Z keeps the lathe's seam towards the back where it can.
  const helper: Vector = Math.abs(y[2]) < 0.9 ? [0, 0, 1] : [0, 1, 0];
  const x = normalise(cross(y, helper));
  return { x, y, z: cross(x, y), origin };
}

export function moveMesh(mesh: Mesh, origin: Vector): Mesh {
  return placeMesh(mesh, { x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1], origin });
}

/** Smallest and largest corner over meshes, in metres. */
export function boundsOf(meshes: readonly Mesh[]): { readonly min: Vector; readonly max: Vector } {
  const min: [number, number, number] = [Infinity, Infinity, Infinity];
  const max: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (const { positions } of meshes) {
    for (let i = 0; i < positions.length; i++) {
      const k = i % 3;
      min[k] = Math.min(min[k]!, positions[i]!);
      max[k] = Math.max(max[k]!, positions[i]!);
    }
  }
  return { min, max };
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
 * Tangents along U of `uv1`, for parts with a normal map of their own. Such parts run `uv0` the same way, so that
 * the tangents also hold for a finish's map. W is +1 where the map is not mirrored (V runs down the image).
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
      // A place without a map direction, as on the button: any direction in the surface will do.
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
