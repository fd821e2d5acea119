import type { Piece } from '../../../core/product/survey.ts';
import { isDescriptive } from '../../../core/repair/part-names.ts';
import { type GltfJson, readName } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import type { SceneNode } from '../../document/world-matrices.ts';
import { type PlacedScene, type Point, placeScene, type ScenePart } from '../place-scene.ts';
import { type Frame, identifyPieces, identifyShape, type PieceFacts } from './identify-piece.ts';
import { type Islands, measureIslands } from './measure-islands.ts';
import { DisjointSets, NOT_FINITE, USED, WELDED, weldPoints } from './weld-points.ts';

/** Which piece each triangle of a primitive belongs to, as one node draws it. */
export interface PieceParts {
  readonly node: number;
  readonly mesh: number;
  readonly primitive: number;
  /** Index of the piece of each triangle; -1 for triangles that cannot be drawn, or whose island has no area. */
  readonly pieceOfTriangle: Int32Array;
}

export interface FoundPieces {
  /** In the order of materials and then of the scene, with `hex` null; at most the `NAMED_LIMIT` largest. */
  readonly pieces: readonly Piece[];
  readonly parts: readonly PieceParts[];
  /** All pieces, by material. */
  readonly covers: ReadonlyMap<number | null, Cover>;
  /** How many pieces there are in all. */
  readonly count: number;
  /** For each point of the scene, the first of the points that it is welded to. */
  readonly welds: Int32Array;
}

/** The surface of a material in the scene, instances included. */
interface Cover {
  readonly areaM2: number;
  readonly pieces: number;
  /** Pieces that are not named; their triangles are -1. */
  readonly unnamed: number;
}

/** Points are welded within this share of the scene's largest extent: 10 µm on a metre, well above float noise. */
const WELD_SHARE = 1e-5;
/** More pieces are loose triangles, foliage or a scan. To name a million took 5 s of 6, and no person chooses among them. */
const NAMED_LIMIT = 100_000;
const NAMED_NODES = 3;
/** Names that are tried for a part, from its node upwards. Higher ones name a product or a file. */
const NAMES_ABOVE = 6;
const NANOMETRES = 1e9;

/**
 * Finds the connected islands of triangles, over positions that are welded in the scene, material by material. So joined or
 * split meshes, other nodes, or another order of triangles give the same pieces.
 * @param scene the result of `placeScene` for the model and nodes
 * @throws Problem `model-too-complex`
 */
export function findPieces(
  model: LoadedModel,
  nodes: readonly SceneNode[],
  scene: PlacedScene = placeScene(model, nodes),
): FoundPieces {
  const { parts, points } = scene;
  const marks = markPoints(scene);
  const frame = measureFrame(points, marks);
  const sets = new DisjointSets(marks.length);
  for (const { from, to } of listRuns(parts)) {
    weldPoints(points, marks, from, to, frame.extent * WELD_SHARE, sets);
  }
  const welds = sets.listLeaders().slice();
  markWelded(marks, welds);
  for (const part of parts) joinTriangles(sets, part, marks);
  const islands = measureIslands(scene, sets.listLeaders(), marks);
  // islands without area are invisible
  const drawn = listDrawn(islands);
  const named = drawn.length > NAMED_LIMIT ? pickLargest(drawn, islands.area) : drawn;
  const covers = sumCovers(parts, islands, drawn, named);
  renumber(islands, named);
  return {
    pieces: nameIslands(model, scene, islands, named, frame),
    parts: parts.map(({ node, mesh, primitive }, index) => ({
      node,
      mesh,
      primitive,
      pieceOfTriangle: islands.ofTriangle[index]!,
    })),
    covers,
    count: drawn.length,
    welds,
  };
}

/** Marks the points of triangles that can be drawn as used, and those that are not finite. */
function markPoints({ parts, points }: PlacedScene): Uint8Array {
  const marks = new Uint8Array(points.length / 3);
  let spoilt = false;
  for (let point = 0, at = 0; point < marks.length; point++, at += 3) {
    const sum = points[at]! + points[at + 1]! + points[at + 2]!;
    if (sum - sum === 0) continue;
    marks[point] = NOT_FINITE;
    spoilt = true;
  }
  for (const { triangles, first, vertices } of parts) {
    for (let t = 0; t < triangles.length; t += 3) {
      const a = triangles[t]!;
      const b = triangles[t + 1]!;
      const c = triangles[t + 2]!;
      if (a >= vertices || b >= vertices || c >= vertices) continue;
      if (spoilt && (marks[first + a]! | marks[first + b]! | marks[first + c]!) & NOT_FINITE) continue;
      marks[first + a] = USED;
      marks[first + b] = USED;
      marks[first + c] = USED;
    }
  }
  return marks;
}

function markWelded(marks: Uint8Array, leaders: Int32Array): void {
  for (let point = 0; point < marks.length; point++) if (leaders[point] !== point) marks[point]! |= WELDED;
}

/** The box of all points that are drawn. */
function measureFrame(points: Float32Array, marks: Uint8Array): Frame {
  let [x0, y0, z0] = [Infinity, Infinity, Infinity];
  let [x1, y1, z1] = [-Infinity, -Infinity, -Infinity];
  for (let point = 0, at = 0; point < marks.length; point++, at += 3) {
    if (marks[point] !== USED) continue;
    const x = points[at]!;
    const y = points[at + 1]!;
    const z = points[at + 2]!;
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

/** Ranges of vertices that are welded with each other: those of one material. */
function listRuns(parts: readonly ScenePart[]): { from: number; to: number }[] {
  const runs: { from: number; to: number; material: number | null }[] = [];
  for (const { material, first, vertices } of parts) {
    const last = runs[runs.length - 1];
    if (last && last.material === material) last.to = first + vertices;
    else runs.push({ from: first, to: first + vertices, material });
  }
  return runs;
}

/** Joins the corners of triangles that can be drawn. */
function joinTriangles(sets: DisjointSets, { triangles, first, vertices }: ScenePart, marks: Uint8Array): void {
  for (let t = 0; t < triangles.length; t += 3) {
    const a = triangles[t]!;
    const b = triangles[t + 1]!;
    const c = triangles[t + 2]!;
    if (a >= vertices || b >= vertices || c >= vertices) continue;
    if ((marks[first + a]! & marks[first + b]! & marks[first + c]! & USED) === 0) continue;
    sets.join(first + a, first + b);
    sets.join(first + b, first + c);
  }
}

function listDrawn({ count, area }: Islands): Int32Array {
  const drawn = new Int32Array(count);
  let found = 0;
  for (let island = 0; island < count; island++) if (area[island]! > 0) drawn[found++] = island;
  return drawn.subarray(0, found);
}

/** The largest, in their own order. */
function pickLargest(drawn: Int32Array, area: Float64Array): Int32Array {
  const areas = Float64Array.from(drawn, (island) => area[island]!).sort();
  const least = areas[areas.length - NAMED_LIMIT]!;
  let larger = 0;
  for (const own of areas) if (own > least) larger++;
  // of pieces as large as the smallest one, the first that fit
  let room = NAMED_LIMIT - larger;
  return drawn.filter((island) => area[island]! > least || (area[island]! === least && room-- > 0));
}

function sumCovers(
  parts: readonly ScenePart[],
  { area, part }: Islands,
  drawn: Int32Array,
  named: Int32Array,
): Map<number | null, Cover> {
  const covers = new Map<number | null, { areaM2: number; pieces: number; unnamed: number }>();
  const coverOf = (island: number) => {
    const { material } = parts[part[island]!]!;
    const known = covers.get(material) ?? { areaM2: 0, pieces: 0, unnamed: 0 };
    covers.set(material, known);
    return known;
  };
  for (const island of drawn) {
    const cover = coverOf(island);
    cover.areaM2 += area[island]!;
    cover.pieces++;
    cover.unnamed++;
  }
  for (const island of named) coverOf(island).unnamed--;
  return covers;
}

/** Replaces the numbers of islands by those of pieces. */
function renumber({ count, ofTriangle }: Islands, named: Int32Array): void {
  if (named.length === count) return;
  const numbers = new Int32Array(count).fill(-1);
  for (let number = 0; number < named.length; number++) numbers[named[number]!] = number;
  for (const list of ofTriangle) for (let t = 0; t < list.length; t++) if (list[t]! >= 0) list[t] = numbers[list[t]!]!;
}

function nameIslands(
  model: LoadedModel,
  { parts, origin }: PlacedScene,
  islands: Islands,
  named: Int32Array,
  frame: Frame,
): Piece[] {
  const { nodes } = model.json;
  const partNames = namePartsOf(model.json);
  const facts = Array.from(named, (island): PieceFacts => {
    const [from, to] = [island * 3, island * 3 + 3];
    return {
      triangles: islands.triangles[island]!,
      vertices: islands.vertices[island]!,
      area: islands.area[island]!,
      min: islands.min.subarray(from, to),
      max: islands.max.subarray(from, to),
      centre: islands.centre.subarray(from, to),
    };
  });
  const ids = identifyPieces(facts, frame);
  return Array.from(named, (island, index) => {
    const own = islands.listParts(island).map((part) => parts[part]!);
    const primitives = new Map(own.map(({ mesh, primitive }) => [`${mesh}/${primitive}`, { mesh, primitive }]));
    const names = new Set(own.map(({ node }) => readName(nodes![node]!.name)).filter(Boolean));
    const { triangles, area, min, max } = facts[index]!;
    return {
      piece: ids[index]!,
      shape: identifyShape(facts[index]!),
      material: parts[islands.part[island]!]!.material,
      triangles,
      areaM2: area,
      box: { min: toScene(min, origin), max: toScene(max, origin) },
      primitives: [...primitives.values()],
      nodes: [...names].slice(0, NAMED_NODES),
      part: findFirst(own, partNames),
      hex: null,
    };
  });
}

/** Returns a function that finds the name of the part that a node is. Names are cached, since many pieces share a node. */
function namePartsOf({ nodes = [], meshes = [] }: GltfJson): (node: number) => string | null {
  const parents = new Map(nodes.flatMap(({ children = [] }, parent) => children.map((child) => [child, parent])));
  const known = new Map<number, string | null>();
  const find = (node: number): string | null => {
    const names = [nodes[node]!.name, meshes[nodes[node]!.mesh!]?.name];
    for (let above = parents.get(node); above !== undefined && names.length < NAMES_ABOVE; above = parents.get(above)) {
      names.push(nodes[above]!.name);
    }
    return names.map(readName).find(isDescriptive) ?? null;
  };
  return (node) => {
    const name = known.get(node);
    if (name !== undefined) return name;
    known.set(node, find(node));
    return known.get(node)!;
  };
}

function findFirst(parts: readonly ScenePart[], nameOf: (node: number) => string | null): string | null {
  for (const { node } of parts) {
    const name = nameOf(node);
    if (name !== null) return name;
  }
  return null;
}

/** Metres in the scene, rounded to nanometres; the rest is float noise. */
function toScene(place: ArrayLike<number>, origin: Point): number[] {
  return origin.map((from, axis) => Math.round((place[axis]! + from) * NANOMETRES) / NANOMETRES);
}
