/** UVs of a part projected from six sides. */
export interface BoxProjection {
  /** The source vertex of every vertex; every source vertex occurs. Null where no vertex is doubled. */
  readonly gather: Uint32Array | null;
  /** Two numbers for each vertex: u to the right and v down, as each side is seen from outside. */
  readonly uvs: Float32Array;
  /** Corners of the triangles, as indices of the new vertices. */
  readonly triangles: Uint32Array;
}

/** Sides: +X, +Y, +Z, −X, −Y, −Z. */
const SIDES = 6;
/** Faces at exactly 45° get the vertical side, despite rounding. Otherwise neighbours on a chamfer would get different sides. */
const EVEN = 1 - 1e-4;

/**
 * Projects each triangle from the side that it faces most. Neighbours that face different sides share no vertex, since each
 * side has its own UVs there.
 * @param points x, y, z of the vertices in the scene, metres
 * @param facing -1 under a mirror, which reverses the order of corners
 * @param metresPerUnit metres of the scene for one UV unit
 */
export function projectBoxes(
  points: Float32Array,
  triangles: Uint32Array,
  facing: 1 | -1,
  metresPerUnit: number,
): BoxProjection {
  const vertices = points.length / 3;
  const sides = new Uint8Array(triangles.length / 3);
  // a bit for every side that needs the vertex
  const needs = new Uint8Array(vertices);
  for (let t = 0, at = 0; t < sides.length; t++, at += 3) {
    const side = findSide(points, triangles[at]!, triangles[at + 1]!, triangles[at + 2]!, facing);
    sides[t] = side;
    for (let corner = at; corner < at + 3; corner++) needs[triangles[corner]!]! |= 1 << side;
  }
  const first = new Uint32Array(vertices + 1);
  for (let vertex = 0; vertex < vertices; vertex++) {
    first[vertex + 1] = first[vertex]! + Math.max(1, countBits(needs[vertex]!));
  }
  const count = first[vertices]!;
  const gather = new Uint32Array(count);
  const uvs = new Float32Array(count * 2);
  for (let vertex = 0; vertex < vertices; vertex++) {
    let to = first[vertex]!;
    gather[to] = vertex;
    for (let side = 0; side < SIDES; side++) {
      if ((needs[vertex]! & (1 << side)) === 0) continue;
      gather[to] = vertex;
      setUv(uvs, to++, points, vertex, side, metresPerUnit);
    }
  }
  if (count === vertices) return { gather: null, uvs, triangles };
  const corners = new Uint32Array(triangles.length);
  for (let at = 0; at < corners.length; at++) {
    const vertex = triangles[at]!;
    const below = needs[vertex]! & ((1 << sides[Math.floor(at / 3)]!) - 1);
    corners[at] = first[vertex]! + countBits(below);
  }
  return { gather, uvs, triangles: corners };
}

/** The side that a triangle faces most; the front for a triangle without area. */
function findSide(p: Float32Array, a: number, b: number, c: number, facing: number): number {
  const [ax, ay, az] = [p[a * 3]!, p[a * 3 + 1]!, p[a * 3 + 2]!];
  const [ux, uy, uz] = [p[b * 3]! - ax, p[b * 3 + 1]! - ay, p[b * 3 + 2]! - az];
  const [vx, vy, vz] = [p[c * 3]! - ax, p[c * 3 + 1]! - ay, p[c * 3 + 2]! - az];
  const normal = [facing * (uy * vz - uz * vy), facing * (uz * vx - ux * vz), facing * (ux * vy - uy * vx)];
  const [x, y, z] = normal.map(Math.abs) as [number, number, number];
  const axis = z >= Math.max(x, y) * EVEN ? 2 : x >= y * EVEN ? 0 : 1;
  return normal[axis]! < 0 ? axis + 3 : axis;
}

/**
 * Each side is seen from outside, and none is mirrored: V runs down on vertical sides, to the front on top, and to the back
 * below. So a grain along V runs down and from back to front.
 */
function setUv(uvs: Float32Array, to: number, p: Float32Array, vertex: number, side: number, metres: number): void {
  const [x, y, z] = [p[vertex * 3]!, p[vertex * 3 + 1]!, p[vertex * 3 + 2]!];
  const right = [-z, x, x, z, x, -x][side]!;
  const up = [y, -z, y, y, z, y][side]!;
  // avoids −0
  uvs[to * 2] = right / metres + 0;
  uvs[to * 2 + 1] = 0 - up / metres;
}

function countBits(bits: number): number {
  let count = 0;
  for (let rest = bits; rest > 0; rest >>= 1) count += rest & 1;
  return count;
}
