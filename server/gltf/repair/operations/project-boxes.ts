/** UVs laid onto a part from six sides, and what of its vertices had to be doubled for them. */
export interface BoxProjection {
  /** Vertex of the source for every vertex, none left out; null where each is needed but once. */
  readonly gather: Uint32Array | null;
  /** Two a vertex; u to the right and v down, as each side is seen from outside. */
  readonly uvs: Float32Array;
  /** Corners of the triangles, by the vertices as they then are. */
  readonly triangles: Uint32Array;
}

/** Sides by their axis, first those of plus, then those of minus. */
const SIDES = 6;
/**
 * Faces that lean by exactly 45° go to the side that stands, whatever rounding makes of them: a chamfer would else be laid
 * this way and that.
 */
const EVEN = 1 - 1e-4;

/**
 * Lays UVs by triangle from the side it faces most, at one unit for so many metres of the scene. Neighbours that face
 * different sides share no vertex then, since each side has UVs of its own there.
 * @param points x, y, z of the vertices in the scene, metres
 * @param facing -1 under a mirror, which turns corners round
 */
export function projectBoxes(
  points: Float32Array,
  triangles: Uint32Array,
  facing: 1 | -1,
  metresPerUnit: number,
): BoxProjection {
  const vertices = points.length / 3;
  const sides = new Uint8Array(triangles.length / 3);
  // by vertex, a bit for every side that needs it
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

/** The side a triangle faces most; one without a surface goes to the front. */
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
 * Each side as it is seen from outside: on those that stand up is up, from above what is behind is up, and from below what
 * is in front; so no side is mirrored, and a grain along V runs down and front to back.
 */
function setUv(uvs: Float32Array, to: number, p: Float32Array, vertex: number, side: number, metres: number): void {
  const [x, y, z] = [p[vertex * 3]!, p[vertex * 3 + 1]!, p[vertex * 3 + 2]!];
  const right = [-z, x, x, z, x, -x][side]!;
  const up = [y, -z, y, y, z, y][side]!;
  // no zero with a sign
  uvs[to * 2] = right / metres + 0;
  uvs[to * 2 + 1] = 0 - up / metres;
}

function countBits(bits: number): number {
  let count = 0;
  for (let rest = bits; rest > 0; rest >>= 1) count += rest & 1;
  return count;
}
