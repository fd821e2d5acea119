import type { Piece } from '../../core/product/survey.ts';
import { listTriangles } from '../list-triangles.ts';
import { textOf } from '../text-of.ts';
import { DisjointSets } from './disjoint-sets.ts';
import { type Frame, identifyPiece, identifyShape, type PieceFacts } from './identify-piece.ts';
import { placeVertices } from './place-vertices.ts';
import { type LoadedModel, readAccessor } from './read-accessor.ts';
import { weldPoints } from './weld-points.ts';
import type { Matrix } from './world-matrices.ts';

/** Which piece each triangle of a primitive belongs to, as one node draws it. */
export interface PieceParts {
  readonly node: number;
  readonly mesh: number;
  readonly primitive: number;
  /** Index into the pieces, by triangle; -1 for triangles that cannot be drawn or have no area with what they touch. */
  readonly pieceOfTriangle: Int32Array;
}

export interface FoundPieces {
  /** All of them, `hex` null, in the order of materials and then of the scene. */
  readonly pieces: readonly Piece[];
  readonly parts: readonly PieceParts[];
}

interface Part {
  readonly node: number;
  readonly mesh: number;
  readonly primitive: number;
  readonly material: number | null;
  readonly matrix: Matrix;
  readonly triangles: Uint32Array;
  readonly vertices: number;
  /** Number of its first vertex among all. */
  readonly first: number;
}

/** Points are one within this share of the scene's largest extent: 10 µm on a metre, well above float noise. */
const WELD_SHARE = 1e-5;
const NAMED_NODES = 3;
const TO_MILLIMETRES_AND_BACK = 1e9;

/**
 * Finds the connected islands of triangles, over positions welded in the scene and material by material: joining or
 * splitting meshes, other nodes or another order of triangles leave them what they are.
 */
export function findPieces(
  model: LoadedModel,
  nodes: readonly { readonly node: number; readonly matrix: Matrix }[],
): FoundPieces {
  const parts = listParts(model, nodes);
  const points = placePoints(model, parts, new Map(nodes.map(({ node, matrix }) => [node, matrix])));
  const frame = measureFrame(points);
  const sets = new DisjointSets(points.length / 3);
  const tolerance = frame.extent * WELD_SHARE;
  for (const { from, to } of listRuns(parts)) {
    weldPoints(points, from, to, tolerance, (a, b) => sets.join(a, b));
  }
  // the leader of a welded point, before triangles join points into islands
  const welded = new Int32Array(points.length / 3);
  for (let i = 0; i < welded.length; i++) welded[i] = sets.find(i);
  const used = new Uint8Array(points.length / 3);
  for (const part of parts) joinTriangles(sets, points, part, used);
  const islands = listIslands(parts, points, sets, welded, used);
  const lists = parts.map((part, index) => addTriangles(part, index, points, islands));
  // islands without any area draw nothing
  const kept = islands.list.filter((island) => island.area > 0);
  const numbers = Int32Array.from(islands.list, () => -1);
  for (const [number, island] of kept.entries()) numbers[island.ordinal] = number;
  for (const list of lists) for (let t = 0; t < list.length; t++) if (list[t]! >= 0) list[t] = numbers[list[t]!]!;
  return {
    pieces: nameIslands(model, parts, kept, frame),
    parts: parts.map(({ node, mesh, primitive }, index) => ({
      node,
      mesh,
      primitive,
      pieceOfTriangle: lists[index]!,
    })),
  };
}

function listParts(model: LoadedModel, nodes: readonly { readonly node: number; readonly matrix: Matrix }[]): Part[] {
  const { json } = model;
  const triangles = new Map<string, Uint32Array | null>();
  const found: Omit<Part, 'first'>[] = [];
  for (const { node, matrix } of nodes) {
    const mesh = json.nodes![node]!.mesh;
    if (mesh === undefined) continue;
    json.meshes![mesh]!.primitives.forEach((primitive, index) => {
      const position = primitive.attributes.POSITION;
      if (position === undefined) return;
      const key = `${mesh}/${index}`;
      let corners = triangles.get(key);
      if (corners === undefined) {
        corners = listTriangles(model, primitive);
        triangles.set(key, corners);
      }
      const vertices = json.accessors![position]!.count;
      if (!corners || corners.length === 0 || !readPositions(model, position)) return;
      const material = primitive.material ?? null;
      found.push({ node, mesh, primitive: index, material, matrix, triangles: corners, vertices });
    });
  }
  found.sort((a, b) => (a.material ?? -1) - (b.material ?? -1));
  let first = 0;
  return found.map((part) => {
    const placed = { ...part, first };
    first += part.vertices;
    return placed;
  });
}

/** Positions as three floats each; null where the accessor is of another kind or cannot be read. */
function readPositions(model: LoadedModel, accessor: number): Float32Array | null {
  if (model.json.accessors![accessor]!.type !== 'VEC3') return null;
  return readAccessor(model, accessor);
}

/** Every vertex of every part in the scene. */
function placePoints(model: LoadedModel, parts: readonly Part[], worlds: ReadonlyMap<number, Matrix>): Float32Array {
  const last = parts[parts.length - 1];
  const points = new Float32Array(last ? (last.first + last.vertices) * 3 : 0);
  for (const { node, mesh, primitive: index, matrix, first } of parts) {
    const primitive = model.json.meshes![mesh]!.primitives[index]!;
    placeVertices(model, { node, primitive, matrix }, worlds, points, first);
  }
  return points;
}

/** The box of all points. */
function measureFrame(points: Float32Array): Frame {
  let [x0, y0, z0] = [Infinity, Infinity, Infinity];
  let [x1, y1, z1] = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i + 2 < points.length; i += 3) {
    const x = points[i]!;
    const y = points[i + 1]!;
    const z = points[i + 2]!;
    if (!Number.isFinite(x + y + z)) continue;
    if (x < x0) x0 = x;
    if (y < y0) y0 = y;
    if (z < z0) z0 = z;
    if (x > x1) x1 = x;
    if (y > y1) y1 = y;
    if (z > z1) z1 = z;
  }
  const extent = Math.max(x1 - x0, y1 - y0, z1 - z0);
  return Number.isFinite(extent) && extent > 0 ? { min: [x0, y0, z0], extent } : { min: [0, 0, 0], extent: 1 };
}

/** Runs of vertices that weld with each other: those of one material. */
function listRuns(parts: readonly Part[]): { from: number; to: number }[] {
  const runs: { from: number; to: number; material: number | null }[] = [];
  for (const { material, first, vertices } of parts) {
    const last = runs[runs.length - 1];
    if (last && last.material === material) last.to = first + vertices;
    else runs.push({ from: first, to: first + vertices, material });
  }
  return runs;
}

/** Joins the corners of triangles that can be drawn, and marks them as used. */
function joinTriangles(
  sets: DisjointSets,
  points: Float32Array,
  { triangles, first, vertices }: Part,
  used: Uint8Array,
): void {
  for (let t = 0; t < triangles.length; t += 3) {
    const a = triangles[t]!;
    const b = triangles[t + 1]!;
    const c = triangles[t + 2]!;
    if (a >= vertices || b >= vertices || c >= vertices) continue;
    if (!isPlaced(points, first + a) || !isPlaced(points, first + b) || !isPlaced(points, first + c)) continue;
    sets.join(first + a, first + b);
    sets.join(first + b, first + c);
    used[first + a] = 1;
    used[first + b] = 1;
    used[first + c] = 1;
  }
}

function isPlaced(points: Float32Array, at: number): boolean {
  return Number.isFinite(points[at * 3]! + points[at * 3 + 1]! + points[at * 3 + 2]!);
}

interface Island extends PieceFacts {
  readonly ordinal: number;
  readonly material: number | null;
  triangles: number;
  vertices: number;
  area: number;
  readonly min: number[];
  readonly max: number[];
  /** While triangles are added the middle times the area. */
  readonly centre: number[];
  /** Parts its triangles are in. */
  readonly parts: number[];
}

interface Islands {
  readonly list: readonly Island[];
  /** Island of every point that a triangle uses; -1 for the others. */
  readonly ofPoint: Int32Array;
}

/** The islands with their boxes and numbers of vertices, by the points alone. */
function listIslands(
  parts: readonly Part[],
  points: Float32Array,
  sets: DisjointSets,
  welded: Int32Array,
  used: Uint8Array,
): Islands {
  const ofPoint = new Int32Array(used.length).fill(-1);
  const ofLeader = new Int32Array(used.length).fill(-1);
  const counted = new Uint8Array(used.length);
  const list: Island[] = [];
  for (const { material, first, vertices } of parts) {
    for (let point = first; point < first + vertices; point++) {
      if (used[point] === 0) continue;
      const leader = sets.find(point);
      let at = ofLeader[leader]!;
      if (at < 0) {
        at = list.length;
        ofLeader[leader] = at;
        list.push(makeIsland(at, material));
      }
      ofPoint[point] = at;
      const island = list[at]!;
      const one = welded[point]!;
      if (counted[one] === 0) {
        counted[one] = 1;
        island.vertices++;
      }
      const { min, max } = island;
      for (let axis = 0; axis < 3; axis++) {
        const value = points[point * 3 + axis]!;
        if (value < min[axis]!) min[axis] = value;
        if (value > max[axis]!) max[axis] = value;
      }
    }
  }
  return { list, ofPoint };
}

function makeIsland(ordinal: number, material: number | null): Island {
  return {
    ordinal,
    material,
    triangles: 0,
    vertices: 0,
    area: 0,
    min: [Infinity, Infinity, Infinity],
    max: [-Infinity, -Infinity, -Infinity],
    centre: [0, 0, 0],
    parts: [],
  };
}

/** Adds a part's triangles to their islands, and says of each which it is. */
function addTriangles(part: Part, index: number, points: Float32Array, { list, ofPoint }: Islands): Int32Array {
  const { triangles, first, vertices } = part;
  const pieceOfTriangle = new Int32Array(triangles.length / 3).fill(-1);
  let last = -1;
  for (let t = 0; t < pieceOfTriangle.length; t++) {
    const a = triangles[t * 3]!;
    const b = triangles[t * 3 + 1]!;
    const c = triangles[t * 3 + 2]!;
    if (a >= vertices || b >= vertices || c >= vertices) continue;
    const pa = first + a;
    const pb = first + b;
    const pc = first + c;
    const area = areaOf(points, pa, pb, pc);
    if (!Number.isFinite(area)) continue;
    const at = ofPoint[pa]!;
    pieceOfTriangle[t] = at;
    const island = list[at]!;
    if (at !== last) {
      last = at;
      if (island.parts[island.parts.length - 1] !== index) island.parts.push(index);
    }
    island.triangles++;
    island.area += area;
    const third = area / 3;
    const { centre } = island;
    centre[0]! += (points[pa * 3]! + points[pb * 3]! + points[pc * 3]!) * third;
    centre[1]! += (points[pa * 3 + 1]! + points[pb * 3 + 1]! + points[pc * 3 + 1]!) * third;
    centre[2]! += (points[pa * 3 + 2]! + points[pb * 3 + 2]! + points[pc * 3 + 2]!) * third;
  }
  return pieceOfTriangle;
}

function areaOf(p: Float32Array, a: number, b: number, c: number): number {
  const ux = p[b * 3]! - p[a * 3]!;
  const uy = p[b * 3 + 1]! - p[a * 3 + 1]!;
  const uz = p[b * 3 + 2]! - p[a * 3 + 2]!;
  const vx = p[c * 3]! - p[a * 3]!;
  const vy = p[c * 3 + 1]! - p[a * 3 + 1]!;
  const vz = p[c * 3 + 2]! - p[a * 3 + 2]!;
  const x = uy * vz - uz * vy;
  const y = uz * vx - ux * vz;
  const z = ux * vy - uy * vx;
  return Math.sqrt(x * x + y * y + z * z) / 2;
}

function nameIslands(model: LoadedModel, parts: readonly Part[], islands: readonly Island[], frame: Frame): Piece[] {
  for (const { centre, area } of islands) for (let axis = 0; axis < 3; axis++) centre[axis]! /= area;
  const { nodes } = model.json;
  const ordinals = new Map<string, number>();
  return islands.map((island) => {
    // what stands in the same place twice (two sides of a sheet) is told apart by its order
    let piece = identifyPiece(island, frame, 0);
    const ordinal = ordinals.get(piece) ?? 0;
    ordinals.set(piece, ordinal + 1);
    if (ordinal > 0) piece = identifyPiece(island, frame, ordinal);
    const own = island.parts.map((index) => parts[index]!);
    const primitives = new Map(own.map(({ mesh, primitive }) => [`${mesh}/${primitive}`, { mesh, primitive }]));
    const names = new Set(own.map(({ node }) => textOf(nodes![node]!.name)).filter(Boolean));
    return {
      piece,
      shape: identifyShape(island),
      material: island.material,
      triangles: island.triangles,
      areaM2: island.area,
      box: { min: island.min.map(tidy), max: island.max.map(tidy) },
      primitives: [...primitives.values()],
      nodes: [...names].slice(0, NAMED_NODES),
      hex: null,
    };
  });
}

/** A nanometre: what is behind it is float noise. */
const tidy = (metres: number) => Math.round(metres * TO_MILLIMETRES_AND_BACK) / TO_MILLIMETRES_AND_BACK;
