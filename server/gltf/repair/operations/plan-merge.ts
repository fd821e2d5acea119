import { type GltfJson, type MaterialJson, type PrimitiveJson, VARIANTS } from '../../document/json.ts';
import { listSceneNodes, type Matrix } from '../../document/world-matrices.ts';
import { drawsTriangles } from '../../geometry/list-triangles.ts';

/** A primitive as a node draws it. */
export interface MergePart {
  readonly node: number;
  readonly mesh: number;
  readonly primitive: number;
  /** World matrix of the node. */
  readonly matrix: Matrix;
}

/** Why a primitive is left as it is, in words that follow a number. */
export type KeptOut =
  | 'skinned'
  | 'animated'
  | 'morphing'
  | 'instanced'
  | 'hidden'
  | 'shown by another scene too'
  | 'of points or lines'
  | 'that cannot be read';

export interface MergePlan {
  /** What can be merged, in scene order. */
  readonly parts: readonly MergePart[];
  /** How many draws are left as they are, by reason. */
  readonly keptOut: Map<KeptOut, number>;
  /** Draws of the scene as it stands. */
  readonly draws: number;
}

/** Finds what can be merged, from the JSON alone: parts that stand still and are drawn as plain triangles. */
export function planMerge(json: GltfJson): MergePlan {
  const animated = listAnimated(json);
  const elsewhere = listNodesElsewhere(json);
  const parts: MergePart[] = [];
  const keptOut = new Map<KeptOut, number>();
  let draws = 0;
  for (const { node, matrix, ancestors } of walkScene(json)) {
    const { mesh } = json.nodes![node]!;
    if (mesh === undefined) continue;
    const reason = keepNode(json, node, matrix, ancestors, animated, elsewhere);
    json.meshes![mesh]!.primitives.forEach((primitive, index) => {
      draws++;
      const kept = reason ?? keepPrimitive(primitive);
      if (kept) keptOut.set(kept, (keptOut.get(kept) ?? 0) + 1);
      else parts.push({ node, mesh, primitive: index, matrix });
    });
  }
  return { parts, keptOut, draws };
}

/** What a chain of nodes above a node does to it. */
interface Ancestors {
  readonly animated: boolean;
  readonly hidden: boolean;
}

/** Nodes of the scene in document order, parents before children. */
function* walkScene(json: GltfJson): Generator<{ node: number; matrix: Matrix; ancestors: Ancestors }> {
  const found = listSceneNodes(json);
  const matrices = new Map(found.map(({ node, matrix }) => [node, matrix]));
  const children = new Set(found.flatMap(({ node }) => json.nodes![node]!.children ?? []));
  const animated = listAnimated(json).nodes;
  const roots = json.scenes?.[json.scene ?? 0]?.nodes ?? found.map(({ node }) => node).sort((a, b) => a - b);
  // a scene that lists a child draws it where its parent has it
  const stack = roots.filter((node) => !children.has(node)).map((node) => ({ node, animated: false, hidden: false }));
  stack.reverse();
  const seen = new Set<number>();
  while (stack.length > 0) {
    const { node, ...above } = stack.pop()!;
    if (seen.has(node)) continue;
    seen.add(node);
    const own = json.nodes![node]!;
    const ancestors = {
      animated: above.animated || animated.has(node),
      hidden: above.hidden || own.extensions?.KHR_node_visibility?.visible === false,
    };
    yield { node, matrix: matrices.get(node)!, ancestors };
    for (const child of [...(own.children ?? [])].reverse()) stack.push({ node: child, ...ancestors });
  }
}

function keepNode(
  json: GltfJson,
  node: number,
  matrix: Matrix,
  ancestors: Ancestors,
  animated: Animated,
  elsewhere: ReadonlySet<number>,
): KeptOut | null {
  const own = json.nodes![node]!;
  if (own.skin !== undefined) return 'skinned';
  if (ancestors.animated || animated.meshes.has(own.mesh!)) return 'animated';
  if (json.meshes![own.mesh!]!.primitives.some(({ targets }) => targets && targets.length > 0)) return 'morphing';
  if (own.extensions?.EXT_mesh_gpu_instancing) return 'instanced';
  if (ancestors.hidden || showsNothing(matrix)) return 'hidden';
  if (elsewhere.has(node)) return 'shown by another scene too';
  return matrix.every(Number.isFinite) ? null : 'that cannot be read';
}

function keepPrimitive(primitive: PrimitiveJson): KeptOut | null {
  if (!drawsTriangles(primitive)) return 'of points or lines';
  return primitive.attributes.POSITION === undefined ? 'that cannot be read' : null;
}

/** Scaled to nothing. */
function showsNothing(matrix: Matrix): boolean {
  return [0, 1, 2, 4, 5, 6, 8, 9, 10].every((at) => matrix[at] === 0);
}

interface Animated {
  readonly nodes: ReadonlySet<number>;
  readonly meshes: ReadonlySet<number>;
}

/** What animations drive: by their own channels, or by pointers (`KHR_animation_pointer`). */
export function listAnimated(json: GltfJson): Animated {
  const nodes = new Set<number>();
  const meshes = new Set<number>();
  for (const { channels = [] } of json.animations ?? []) {
    for (const { target } of channels) {
      if (typeof target?.node === 'number') nodes.add(target.node);
      const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
      const match = typeof pointer === 'string' ? /^\/(nodes|meshes)\/(\d+)(\/|$)/.exec(pointer) : null;
      if (match) (match[1] === 'nodes' ? nodes : meshes).add(Number(match[2]));
    }
  }
  return { nodes, meshes };
}

/** Nodes that scenes other than the one drawn hold. */
export function listNodesElsewhere(json: GltfJson): ReadonlySet<number> {
  const found = new Set<number>();
  const stack = (json.scenes ?? []).flatMap(({ nodes }, index) => (index === (json.scene ?? 0) ? [] : (nodes ?? [])));
  while (stack.length > 0) {
    const node = stack.pop()!;
    if (found.has(node)) continue;
    found.add(node);
    for (const child of json.nodes![node]!.children ?? []) stack.push(child);
  }
  return found;
}

/** Whether a primitive has tangents that count: without normals they are to be ignored (glTF 2.0 §3.7.2.1). */
export function hasTangents({ attributes }: PrimitiveJson): boolean {
  return attributes.TANGENT !== undefined && attributes.NORMAL !== undefined;
}

/**
 * What primitives must agree in to become one: material, what they wear in every variant, and, where the material looks
 * different with and without them, tangents.
 */
function groupKey(json: GltfJson, primitive: PrimitiveJson): string {
  const variants = primitive.extensions?.[VARIANTS];
  const tangents = needsTangents(json, primitive) ? hasTangents(primitive) : null;
  return JSON.stringify([primitive.material ?? null, variants ?? null, tangents]);
}

function needsTangents(json: GltfJson, { material, extensions }: PrimitiveJson): boolean {
  const mappings = extensions?.[VARIANTS]?.mappings;
  const worn = Array.isArray(mappings) ? mappings.map((mapping) => (mapping as { material?: number })?.material) : [];
  return [material, ...worn].some((index) => index !== undefined && bends(json.materials?.[index]));
}

function bends(material: MaterialJson | undefined): boolean {
  const { KHR_materials_anisotropy, KHR_materials_clearcoat } = material?.extensions ?? {};
  return Boolean(
    material?.normalTexture || KHR_materials_anisotropy || KHR_materials_clearcoat?.clearcoatNormalTexture,
  );
}

/** Parts that become one primitive, in scene order; groups by material, those without one last. */
export function groupParts(json: GltfJson, parts: readonly MergePart[]): MergePart[][] {
  const groups = new Map<string, MergePart[]>();
  const keys = new Map<PrimitiveJson, string>();
  for (const part of parts) {
    const primitive = findPrimitive(json, part);
    const key = keys.get(primitive) ?? groupKey(json, primitive);
    keys.set(primitive, key);
    const group = groups.get(key);
    if (group) group.push(part);
    else groups.set(key, [part]);
  }
  const order = ([first]: readonly MergePart[]) => findPrimitive(json, first!).material ?? Infinity;
  return [...groups.values()].sort((a, b) => (order(a) === order(b) ? 0 : order(a) - order(b)));
}

export function findPrimitive(json: GltfJson, { mesh, primitive }: MergePart): PrimitiveJson {
  return json.meshes![mesh]!.primitives[primitive]!;
}
