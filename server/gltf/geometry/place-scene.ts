import { Problem } from '../../core/problems.ts';
import { MODEL_PROBLEMS } from '../../core/texts/problems/model.ts';
import type { GltfJson } from '../document/json.ts';
import { TRIANGLE_LIMIT, VERTEX_LIMIT } from '../document/limits.ts';
import { type LoadedModel, readAccessor } from '../document/read-accessor.ts';
import type { Matrix, SceneNode } from '../document/world-matrices.ts';
import { listTriangles } from './list-triangles.ts';
import { isPosed, placeVertices } from './place-vertices.ts';

/** A primitive as one node draws it. */
export interface ScenePart {
  readonly node: number;
  readonly mesh: number;
  readonly primitive: number;
  readonly material: number | null;
  /** Corners of its triangles, three each, in its own order. They may be out of range. */
  readonly triangles: Uint32Array;
  readonly vertices: number;
  /** Index of its first vertex among all points. */
  readonly first: number;
}

/** All parts that draw triangles, with every vertex placed in the scene. */
export interface PlacedScene {
  /** By material, then in the order of the scene. */
  readonly parts: readonly ScenePart[];
  /** x, y, z of every vertex, relative to `origin`; not finite where a vertex cannot be placed. */
  readonly points: Float32Array;
  readonly origin: Point;
}

export type Point = readonly [number, number, number];

/** How often one node may repeat its mesh; `build-scene.ts` of the renderer has the same limit. */
const INSTANCE_LIMIT = 1_000_000;

type UnplacedPart = Omit<ScenePart, 'first'> & { readonly matrix: Matrix };

/** @throws Problem `model-too-complex` */
export function placeScene(model: LoadedModel, nodes: readonly SceneNode[]): PlacedScene {
  const found = listParts(model, nodes);
  const origin = chooseOrigin(model, found);
  const worlds = new Map(nodes.map(({ node, matrix }) => [node, matrix]));
  const points = new Float32Array(found.reduce((sum, { vertices }) => sum + vertices, 0) * 3);
  let first = 0;
  const parts = found.map(({ matrix, ...part }): ScenePart => {
    const { node, mesh, primitive: index, vertices } = part;
    const primitive = model.json.meshes![mesh]!.primitives[index]!;
    placeVertices(model, { node, primitive, matrix }, worlds, points, first, origin);
    first += vertices;
    return { ...part, first: first - vertices };
  });
  return { parts, points, origin };
}

function listParts(model: LoadedModel, nodes: readonly SceneNode[]): UnplacedPart[] {
  const { json } = model;
  const triangles = new Map<string, Uint32Array | null>();
  const found: UnplacedPart[] = [];
  let [vertexSum, triangleSum] = [0, 0];
  for (const { node, matrix } of nodes) {
    const mesh = json.nodes![node]!.mesh;
    if (mesh === undefined) continue;
    const instances = countInstances(json, node);
    if (instances > INSTANCE_LIMIT) refuse();
    json.meshes![mesh]!.primitives.forEach((primitive, index) => {
      const key = `${mesh}/${index}`;
      let corners = triangles.get(key);
      if (corners === undefined) {
        const { POSITION } = primitive.attributes;
        const isThere = POSITION !== undefined && readPositions(model, POSITION) !== null;
        corners = isThere ? listTriangles(model, primitive) : null;
        triangles.set(key, corners);
      }
      if (!corners || corners.length === 0) return;
      const vertices = json.accessors![primitive.attributes.POSITION!]!.count;
      vertexSum += vertices * instances;
      triangleSum += (corners.length / 3) * instances;
      if (vertexSum > VERTEX_LIMIT || triangleSum > TRIANGLE_LIMIT) refuse();
      const material = primitive.material ?? null;
      found.push({ node, mesh, primitive: index, material, matrix, triangles: corners, vertices });
    });
  }
  return found.sort((a, b) => (a.material ?? -1) - (b.material ?? -1));
}

/** How often a node draws its mesh: with `EXT_mesh_gpu_instancing`, as often as the shortest of its lists is long. */
function countInstances({ nodes, accessors }: GltfJson, node: number): number {
  const attributes = nodes![node]!.extensions?.EXT_mesh_gpu_instancing?.attributes as
    | Record<string, number>
    | undefined;
  const counts = ['TRANSLATION', 'ROTATION', 'SCALE'].flatMap(
    (name) => accessors?.[attributes?.[name] ?? -1]?.count ?? [],
  );
  return counts.length > 0 ? Math.min(...counts) : 1;
}

function refuse(): never {
  throw new Problem('model-too-complex', {
    detail: MODEL_PROBLEMS['model-too-complex'].scene(VERTEX_LIMIT, TRIANGLE_LIMIT, INSTANCE_LIMIT),
    expected: TRIANGLE_LIMIT,
  });
}

/** Positions as three floats each; null where the accessor is of another kind or cannot be read. */
function readPositions(model: LoadedModel, accessor: number): Float32Array | null {
  if (model.json.accessors![accessor]!.type !== 'VEC3') return null;
  return readAccessor(model, accessor);
}

/**
 * Chooses the origin of the points. Single precision resolves a ten-millionth of a coordinate, so a chair at a distance of
 * fifty metres would lose its joints. A few vertices tell where the model is. A model near the zero point keeps its
 * coordinates exactly.
 */
function chooseOrigin(model: LoadedModel, parts: readonly UnplacedPart[]): Point {
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  for (const { node, mesh, primitive: index, matrix: m, vertices } of parts) {
    const primitive = model.json.meshes![mesh]!.primitives[index]!;
    if (isPosed(model.json, node, primitive)) continue;
    const positions = readPositions(model, primitive.attributes.POSITION!)!;
    for (const vertex of [0, vertices >> 1]) {
      for (let row = 0; row < 3; row++) {
        const [x, y, z] = [positions[vertex * 3]!, positions[vertex * 3 + 1]!, positions[vertex * 3 + 2]!];
        const value = m[row]! * x + m[4 + row]! * y + m[8 + row]! * z + m[12 + row]!;
        if (!Number.isFinite(value)) continue;
        min[row] = Math.min(min[row]!, value);
        max[row] = Math.max(max[row]!, value);
      }
    }
  }
  const centre = min.map((low, axis) => (low + max[axis]!) / 2) as [number, number, number];
  const spread = Math.hypot(...min.map((low, axis) => max[axis]! - low));
  return centre.every(Number.isFinite) && Math.hypot(...centre) > FAR_OFF * spread ? centre : [0, 0, 0];
}

/** How many times its own size a model may be away from zero. This costs one of the seven digits of single precision. */
const FAR_OFF = 8;
