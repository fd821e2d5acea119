import { createRandom } from './random.ts';
import type { WorldTriangle } from './world-triangles.ts';

type Vector = readonly [number, number, number];

/**
 * Distance to the first triangle that a ray hits, from either side; Infinity where there is none. The direction has
 * length 1.
 */
type Tracer = (from: Vector, direction: Vector) => number;

/** Greatest number of triangles in a leaf of the tree. */
const LEAF = 4;

/**
 * Intersects triangles by Möller and Trumbore, "Fast, Minimum Storage Ray/Triangle Intersection" (1997), in a tree of
 * boxes.
 */
export function createTracer(triangles: readonly Pick<WorldTriangle, 'corners'>[]): Tracer {
  const points = Float64Array.from(triangles.flatMap(({ corners }) => corners.flatMap((corner) => corner.slice(0, 3))));
  const root = build(points, Uint32Array.from(triangles.keys()));
  return (from, direction) => meet(root, points, from, direction, Number.POSITIVE_INFINITY);
}

/**
 * Share of a hemisphere over a floor point that is covered, weighted by cosine: rays spread evenly over the unit disc
 * and raised (Malley's method), one in each cell of a square grid. `count` gives the weight of a hit, 0–1, by its
 * sideways distance and its height, in the unit of the triangles.
 */
export function traceFloor(
  tracer: Tracer,
  [x, y, z]: Vector,
  side: number,
  count: (aside: number, height: number) => number,
): number {
  const random = createRandom(7);
  let sum = 0;
  for (let row = 0; row < side; row++) {
    for (let column = 0; column < side; column++) {
      const ring = Math.sqrt((row + random.next()) / side);
      const turn = ((column + random.next()) / side) * 2 * Math.PI;
      const up = Math.sqrt(1 - ring * ring);
      const distance = tracer([x, y + 1e-7, z], [ring * Math.cos(turn), up, ring * Math.sin(turn)]);
      if (distance < Number.POSITIVE_INFINITY) sum += count(distance * ring, distance * up);
    }
  }
  return sum / (side * side);
}

interface Node {
  readonly low: Vector;
  readonly high: Vector;
  /** Triangles of a leaf; otherwise two halves. */
  readonly leaf?: Uint32Array;
  readonly halves?: readonly [Node, Node];
}

function build(points: Float64Array, members: Uint32Array): Node {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const member of members) {
    for (let at = 0; at < 9; at++) {
      const value = points[member * 9 + at]!;
      low[at % 3] = Math.min(low[at % 3]!, value);
      high[at % 3] = Math.max(high[at % 3]!, value);
    }
  }
  const box = { low: low as unknown as Vector, high: high as unknown as Vector };
  if (members.length <= LEAF) return { ...box, leaf: members };
  const sizes = [0, 1, 2].map((axis) => high[axis]! - low[axis]!);
  const axis = sizes.indexOf(Math.max(...sizes));
  const middle = (member: number) =>
    points[member * 9 + axis]! + points[member * 9 + 3 + axis]! + points[member * 9 + 6 + axis]!;
  members.sort((a, b) => middle(a) - middle(b));
  const half = members.length >> 1;
  return { ...box, halves: [build(points, members.subarray(0, half)), build(points, members.subarray(half))] };
}

function meet(node: Node, points: Float64Array, from: Vector, direction: Vector, nearest: number): number {
  let enter = 0;
  let leave = nearest;
  for (let axis = 0; axis < 3; axis++) {
    const inverse = 1 / direction[axis]!;
    const one = (node.low[axis]! - from[axis]!) * inverse;
    const other = (node.high[axis]! - from[axis]!) * inverse;
    enter = Math.max(enter, Math.min(one, other));
    leave = Math.min(leave, Math.max(one, other));
  }
  if (!(enter <= leave + 1e-12)) return nearest;
  if (node.halves) {
    const first = meet(node.halves[0], points, from, direction, nearest);
    return meet(node.halves[1], points, from, direction, first);
  }
  let best = nearest;
  for (const member of node.leaf!) best = Math.min(best, meetOne(points, member * 9, from, direction));
  return best;
}

function meetOne(points: Float64Array, at: number, from: Vector, direction: Vector): number {
  const ux = points[at + 3]! - points[at]!;
  const uy = points[at + 4]! - points[at + 1]!;
  const uz = points[at + 5]! - points[at + 2]!;
  const vx = points[at + 6]! - points[at]!;
  const vy = points[at + 7]! - points[at + 1]!;
  const vz = points[at + 8]! - points[at + 2]!;
  const px = direction[1] * vz - direction[2] * vy;
  const py = direction[2] * vx - direction[0] * vz;
  const pz = direction[0] * vy - direction[1] * vx;
  const determinant = ux * px + uy * py + uz * pz;
  if (Math.abs(determinant) < 1e-18) return Number.POSITIVE_INFINITY;
  const tx = from[0] - points[at]!;
  const ty = from[1] - points[at + 1]!;
  const tz = from[2] - points[at + 2]!;
  const u = (tx * px + ty * py + tz * pz) / determinant;
  if (u < 0 || u > 1) return Number.POSITIVE_INFINITY;
  const qx = ty * uz - tz * uy;
  const qy = tz * ux - tx * uz;
  const qz = tx * uy - ty * ux;
  const v = (direction[0] * qx + direction[1] * qy + direction[2] * qz) / determinant;
  if (v < 0 || u + v > 1) return Number.POSITIVE_INFINITY;
  const distance = (vx * qx + vy * qy + vz * qz) / determinant;
  return distance > 0 ? distance : Number.POSITIVE_INFINITY;
}
