import { type KeptOut, REPAIR_LOSSES } from '../../../core/texts/repair-outcomes.ts';
import { DRACO, type GltfJson, type MaterialJson, type PrimitiveJson, VARIANTS } from '../../document/json.ts';
import { listSceneNodes, type Matrix } from '../../document/world-matrices.ts';
import { drawsTriangles } from '../../geometry/list-triangles.ts';
import { type Animated, hasContent, listAnimated, listNodesElsewhere } from '../edit/scene-nodes.ts';

/** A primitive that a node draws. */
export interface MergePart {
  readonly node: number;
  readonly mesh: number;
  readonly primitive: number;
  /** World matrix of the node. */
  readonly matrix: Matrix;
}

export interface MergePlan {
  /** What can be merged, in scene order. */
  readonly parts: readonly MergePart[];
  /** How many draws stay as they are, by reason. */
  readonly keptOut: Map<KeptOut, number>;
  /** Draws of the scene before merging. */
  readonly draws: number;
}

/** Finds the parts that can be merged, from the JSON alone: static parts of triangles. */
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

/** What the ancestors of a node do to it. */
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
  // a scene that lists a child draws it below its parent
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
  if (ancestors.hidden || scalesToZero(matrix)) return 'hidden';
  if (elsewhere.has(node)) return 'in-another-scene';
  return matrix.every(Number.isFinite) ? null : 'unreadable';
}

function keepPrimitive(primitive: PrimitiveJson): KeptOut | null {
  if (!drawsTriangles(primitive)) return 'points-or-lines';
  return primitive.attributes.POSITION === undefined ? 'unreadable' : null;
}

/** Whether a matrix scales to zero. */
function scalesToZero(matrix: Matrix): boolean {
  return [0, 1, 2, 4, 5, 6, 8, 9, 10].every((at) => matrix[at] === 0);
}

/** Whether a primitive has tangents; viewers ignore tangents without normals (glTF 2.0 §3.7.2.1). */
export function hasTangents({ attributes }: PrimitiveJson): boolean {
  return attributes.TANGENT !== undefined && attributes.NORMAL !== undefined;
}

/**
 * What primitives must have in common to become one: the material, its variants, and the presence of tangents where the
 * material looks different without them.
 */
function groupKey(json: GltfJson, primitive: PrimitiveJson): string {
  const variants = primitive.extensions?.[VARIANTS];
  const tangents = needsTangents(json, primitive) ? hasTangents(primitive) : null;
  return JSON.stringify([primitive.material ?? null, variants ?? null, tangents]);
}

function needsTangents(json: GltfJson, { material, extensions }: PrimitiveJson): boolean {
  const mappings = extensions?.[VARIANTS]?.mappings;
  const others = Array.isArray(mappings) ? mappings.map((mapping) => (mapping as { material?: number })?.material) : [];
  return [material, ...others].some((index) => index !== undefined && usesTangents(json.materials?.[index]));
}

function usesTangents(material: MaterialJson | undefined): boolean {
  const { KHR_materials_anisotropy, KHR_materials_clearcoat } = material?.extensions ?? {};
  return Boolean(
    material?.normalTexture || KHR_materials_anisotropy || KHR_materials_clearcoat?.clearcoatNormalTexture,
  );
}

/** Groups the parts that become one primitive, in scene order; groups are sorted by material, those without one last. */
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

/** Lists in words what merging these parts would lose. */
export function listMergeLosses(json: GltfJson, parts: readonly MergePart[]): string[] {
  const losses: string[] = [];
  const objects = new Set<{ name?: string; extras?: unknown; extensions?: object; attributes?: object }>();
  for (const part of parts) {
    for (const object of [json.nodes![part.node]!, json.meshes![part.mesh]!, findPrimitive(json, part)]) {
      objects.add(object);
    }
  }
  let extras = 0;
  const extensions = new Map<string, number>();
  for (const object of objects) {
    if (hasContent(object.extras)) extras++;
    for (const name of Object.keys(object.extensions ?? {})) {
      if (!CARRIED.has(name)) extensions.set(name, (extensions.get(name) ?? 0) + 1);
    }
  }
  if (extras > 0) losses.push(REPAIR_LOSSES.extras(extras));
  for (const [name, count] of extensions) losses.push(REPAIR_LOSSES.partExtension(name, count));
  for (const [name, count] of listUneven(json, parts)) losses.push(REPAIR_LOSSES.attribute(name, count));
  return losses;
}

/** Extensions that merging copies, unpacks, or leaves on their node. */
const CARRIED = new Set([VARIANTS, DRACO, 'KHR_lights_punctual', 'KHR_node_visibility', 'EXT_mesh_gpu_instancing']);

/** Custom attributes (`_NAME`) that only some primitives of a group have, so that they are lost. */
function listUneven(json: GltfJson, parts: readonly MergePart[]): Map<string, number> {
  const lost = new Map<string, number>();
  for (const group of groupParts(json, parts)) {
    const primitives = new Set(group.map((part) => findPrimitive(json, part)));
    const kept = new Set(listCustom(json, [...primitives]).map(({ name }) => name));
    for (const { attributes } of primitives) {
      for (const name of Object.keys(attributes)) {
        if (isCustom(name) && !kept.has(name)) lost.set(name, (lost.get(name) ?? 0) + 1);
      }
    }
  }
  return lost;
}

/** Matrices are left out: their columns are padded, and no known tool writes them as attributes. */
const VECTORS = new Set(['SCALAR', 'VEC2', 'VEC3', 'VEC4']);

const isCustom = (name: string) => name.startsWith('_');

/** Custom attributes that all of these primitives have, with one type. */
export function listCustom(json: GltfJson, group: readonly PrimitiveJson[]): { name: string; type: string }[] {
  return Object.entries(group[0]!.attributes).flatMap(([name, accessor]) => {
    const { type } = json.accessors![accessor]!;
    const shared = ({ attributes }: PrimitiveJson) =>
      attributes[name] !== undefined && json.accessors![attributes[name]]!.type === type;
    return isCustom(name) && VECTORS.has(type) && group.every(shared) ? [{ name, type }] : [];
  });
}
