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
