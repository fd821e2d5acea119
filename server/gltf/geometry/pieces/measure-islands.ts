import type { PlacedScene, ScenePart } from '../place-scene.ts';
import { USED } from './weld-points.ts';

/** Islands as columns of numbers, since a model can have millions. Lengths are in the scene's unit, from the scene's origin. */
export interface Islands {
  readonly count: number;
  readonly triangles: Int32Array;
  /** Vertices after welding. */
  readonly vertices: Int32Array;
  readonly area: Float64Array;
  /** Three numbers for each island, as in the next two columns. */
  readonly min: Float32Array;
  readonly max: Float32Array;
  /** Centre of the surface, weighted by area. */
  readonly centre: Float64Array;
  /** Index of one of its parts; all of them have the same material. */
  readonly part: Int32Array;
  /** By part, the island of each triangle; -1 for those that cannot be drawn. */
  readonly ofTriangle: readonly Int32Array[];
  /** Parts in which an island has triangles, each once, in order. */
  listParts(island: number): number[];
}

/**
 * Measures islands.
 * @param leaders by point, the leader of its island
 * @param marks by point, USED and WELDED
 */
export function measureIslands({ parts, points }: PlacedScene, leaders: Int32Array, marks: Uint8Array): Islands {
  let count = 0;
  for (let point = 0; point < marks.length; point++) if (marks[point] === USED && leaders[point] === point) count++;
  const islands = {
    count,
    triangles: new Int32Array(count),
    vertices: new Int32Array(count),
    area: new Float64Array(count),
    min: new Float32Array(count * 3).fill(Infinity),
    max: new Float32Array(count * 3).fill(-Infinity),
    centre: new Float64Array(count * 3),
    part: new Int32Array(count),
  };
  const ofPoint = numberPoints(islands, parts, points, leaders, marks);
  // parts of an island as a list in columns, newest first
  const heads = new Int32Array(count).fill(-1);
  const entries: number[] = [];
  const nexts: number[] = [];
  const note = (island: number, part: number): void => {
    if (entries[heads[island]!] === part) return;
    nexts.push(heads[island]!);
    heads[island] = entries.push(part) - 1;
  };
  const ofTriangle = parts.map((part, index) => addTriangles(islands, part, index, points, ofPoint, note));
  for (let i = 0; i < count * 3; i++) islands.centre[i]! /= islands.area[Math.floor(i / 3)]!;
  return {
    ...islands,
    ofTriangle,
    listParts(island) {
      const list: number[] = [];
      for (let at = heads[island]!; at >= 0; at = nexts[at]!) list.push(entries[at]!);
      return list.reverse();
    },
  };
}

type Columns = Omit<Islands, 'ofTriangle' | 'listParts'>;

/** Numbers the islands in the order of their first points, and measures their boxes and vertices. */
function numberPoints(
  { vertices, min, max, part: partOf }: Columns,
  parts: readonly ScenePart[],
  points: Float32Array,
  leaders: Int32Array,
  marks: Uint8Array,
): Int32Array {
  const ofPoint = new Int32Array(marks.length).fill(-1);
  let next = 0;
  for (const [index, { first, vertices: own }] of parts.entries()) {
    for (let point = first; point < first + own; point++) {
      const mark = marks[point]!;
      if ((mark & USED) === 0) continue;
      const leader = leaders[point]!;
      // the leader is the lowest point of its island, so it comes first
      if (leader === point) {
        partOf[next] = index;
        ofPoint[point] = next++;
      }
      const island = ofPoint[leader]!;
      ofPoint[point] = island;
      if (mark === USED) vertices[island]!++;
      for (let axis = 0, at = island * 3; axis < 3; axis++, at++) {
        const value = points[point * 3 + axis]!;
        if (value < min[at]!) min[at] = value;
        if (value > max[at]!) max[at] = value;
      }
    }
  }
  return ofPoint;
}

/** Adds a part's triangles to their islands. Returns the island of each triangle. */
function addTriangles(
  { triangles: counts, area: areas, centre }: Columns,
  { triangles, first, vertices }: ScenePart,
  index: number,
  points: Float32Array,
  ofPoint: Int32Array,
  note: (island: number, part: number) => void,
): Int32Array {
  const ofTriangle = new Int32Array(triangles.length / 3).fill(-1);
  let last = -1;
  for (let t = 0, at = 0; t < ofTriangle.length; t++, at += 3) {
    const a = triangles[at]!;
    const b = triangles[at + 1]!;
    const c = triangles[at + 2]!;
    if (a >= vertices || b >= vertices || c >= vertices) continue;
    const pa = (first + a) * 3;
    const pb = (first + b) * 3;
    const pc = (first + c) * 3;
    const ax = points[pa]!;
    const ay = points[pa + 1]!;
    const az = points[pa + 2]!;
    const bx = points[pb]!;
    const by = points[pb + 1]!;
    const bz = points[pb + 2]!;
    const cx = points[pc]!;
    const cy = points[pc + 1]!;
    const cz = points[pc + 2]!;
    const nx = (by - ay) * (cz - az) - (bz - az) * (cy - ay);
    const ny = (bz - az) * (cx - ax) - (bx - ax) * (cz - az);
    const nz = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
    const own = Math.sqrt(nx * nx + ny * ny + nz * nz) / 2;
    // also skips NaN
    if (!(own < Infinity)) continue;
    const island = ofPoint[first + a]!;
    if (island !== last) {
      last = island;
      note(island, index);
    }
    ofTriangle[t] = island;
    counts[island]!++;
    areas[island]! += own;
    const third = own / 3;
    centre[island * 3]! += (ax + bx + cx) * third;
    centre[island * 3 + 1]! += (ay + by + cy) * third;
    centre[island * 3 + 2]! += (az + bz + cz) * third;
  }
  return ofTriangle;
}
