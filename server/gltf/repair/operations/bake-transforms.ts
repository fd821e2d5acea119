import { labelMaterial } from '../../../core/texts/format-text.ts';
import { type KeptOut, REPAIR_LOSSES, REPAIR_NOTES, REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import { type GltfJson, type MaterialJson, type MeshJson, type NodeJson, readName } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listMaterialsOf } from '../../document/read-material.ts';
import { listParents, listSceneNodes, type Matrix, meanScale } from '../../document/world-matrices.ts';
import { windsBackwards } from '../edit/change-vertices.ts';
import { repackViews } from '../edit/freed-objects.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { listAnimated, listNodesElsewhere, listUnknownExtensions, removeNodes } from '../edit/scene-nodes.ts';
import { isCompressed, unpackGeometry } from '../edit/unpack-geometry.ts';
import { done, nothingToDo, type Repairer } from '../repairer.ts';
import { canBake, MeshBaker } from './bake-mesh.ts';

const OUTCOMES = REPAIR_OUTCOMES['bake-transforms'];

/**
 * Bakes the world transforms of mesh nodes into their geometry: positions, normals, tangents, deltas of morph targets, and
 * the winding under a mirror. The nodes become roots without a transform, and shared meshes are copied. Nodes that are
 * skinned, instanced, hidden or animated stay as they are, so that no animation is lost.
 */
export const bakeTransforms: Repairer<'bake-transforms'> = {
  listLosses({ json }) {
    const { nodes } = planBake(json);
    const unknown = listUnknownExtensions(json, new Set(nodes.map(({ node }) => node)));
    return [...unknown, ...listThicknessLosses(json, planThickness(json, nodes))];
  },

  async apply(edit) {
    const { json } = edit;
    const plan = planBake(json, await edit.decode());
    if (plan.nodes.length === 0) return nothingToDo(OUTCOMES.nothing + REPAIR_NOTES.unchanged(plan.keptOut));
    if (isCompressed(json, plan.nodes)) await unpackGeometry(edit);
    bakeThickness(json, planThickness(json, plan.nodes));
    const { vertices, copies } = bakeMeshes(edit, plan.nodes);
    repackViews(edit);
    const removed = raiseNodes(json, plan.nodes);
    const mirrored = plan.nodes.filter(({ matrix }) => matrix && windsBackwards(matrix)).length;
    const figures = { nodes: plan.nodes.length, vertices, mirrored, meshesCopied: copies, nodesRemoved: removed };
    return done(OUTCOMES.done(figures) + REPAIR_NOTES.unchanged(plan.keptOut), figures);
  },
};

function bakeMeshes(edit: ModelEdit, nodes: readonly BakedNode[]): { vertices: number; copies: number } {
  const { json } = edit;
  const baker = new MeshBaker(edit);
  const users = new Map<number, number>();
  for (const { mesh } of json.nodes!) if (mesh !== undefined) users.set(mesh, (users.get(mesh) ?? 0) + 1);
  let copies = 0;
  for (const { node, mesh, matrix } of nodes) {
    if (!matrix) continue;
    const source = json.meshes![mesh]!;
    const primitives = source.primitives.map((primitive) => baker.bake(primitive, matrix));
    // the last node that uses a mesh keeps it
    if (users.get(mesh) === 1) {
      source.primitives = primitives;
      continue;
    }
    users.set(mesh, users.get(mesh)! - 1);
    const copy: MeshJson = { ...structuredClone({ ...source, primitives: [] }), primitives };
    json.nodes![node]!.mesh = json.meshes!.push(copy) - 1;
    copies++;
  }
  return { vertices: baker.vertices, copies };
}

type WeightedNode = NodeJson & { weights?: number[] };

/**
 * Makes nodes roots of the scene without a transform. A node that has other children, a camera, a light or a joint stays
 * where it is, and its mesh moves to a new node. Ancestors that held nothing else are removed.
 * @param raised parents before children
 * @returns how many nodes were removed
 */
function raiseNodes(json: GltfJson, raised: readonly BakedNode[]): number {
  const parents = listParents(json);
  const joints = new Set((json.skins ?? []).flatMap(({ joints: own = [], skeleton }) => [...own, skeleton]));
  const leaving = new Set<number>();
  for (const { node } of [...raised].reverse()) {
    const { children = [], camera, extensions } = json.nodes![node]!;
    const holds = children.some((child) => !leaving.has(child));
    if (!holds && camera === undefined && !extensions?.KHR_lights_punctual && !joints.has(node)) leaving.add(node);
  }
  const roots = raised.map(({ node }) => {
    if (!leaving.has(node)) return addRoot(json, node);
    const own = json.nodes![node]!;
    for (const key of ['matrix', 'translation', 'rotation', 'scale', 'children'] as const) delete own[key];
    return node;
  });
  for (const node of json.nodes!) {
    if (!node.children?.some((child) => leaving.has(child))) continue;
    node.children = node.children.filter((child) => !leaving.has(child));
    if (node.children.length === 0) delete node.children;
  }
  const scene = json.scenes?.[json.scene ?? 0];
  if (scene) scene.nodes = [...new Set([...(scene.nodes ?? []), ...roots])];
  const above = new Set<number>();
  for (const { node } of raised) {
    let at = leaving.has(node) ? parents.get(node) : node;
    for (; at !== undefined && !above.has(at); at = parents.get(at)) above.add(at);
  }
  return removeNodes(json, new Set([...above].filter((node) => !leaving.has(node))), new Set());
}

function addRoot(json: GltfJson, index: number): number {
  const node = json.nodes![index]! as WeightedNode;
  const root: WeightedNode = { mesh: node.mesh! };
  if (node.name !== undefined) root.name = node.name;
  if (node.weights) root.weights = node.weights;
  delete node.mesh;
  delete node.weights;
  return json.nodes!.push(root) - 1;
}

/** A node whose mesh becomes a root without a transform. */
interface BakedNode {
  readonly node: number;
  readonly mesh: number;
  /** World matrix; null for the identity, where only the node's place in the tree changes. */
  readonly matrix: Matrix | null;
}

interface BakePlan {
  /** Parents before children. */
  readonly nodes: readonly BakedNode[];
  /** Nodes that stay as they are, by reason. */
  readonly keptOut: ReadonlyMap<KeptOut, number>;
}

/** Rounding error of a chain of multiplications. */
const NOISE = 1e-9;

/** Finds the nodes whose transforms can be baked. @param model to check the geometry too; without it only the JSON counts */
function planBake(json: GltfJson, model?: LoadedModel): BakePlan {
  const nodes: BakedNode[] = [];
  const keptOut = new Map<KeptOut, number>();
  const animated = listAnimated(json);
  const elsewhere = listNodesElsewhere(json);
  const parents = listParents(json);
  const moves = new Set<number>();
  const hides = new Set<number>();
  for (const { node, matrix } of listSceneNodes(json)) {
    const { mesh, skin, extensions, children = [] } = json.nodes![node]!;
    if (animated.nodes.has(node)) moves.add(node);
    if (extensions?.KHR_node_visibility?.visible === false) hides.add(node);
    // parents come before their children
    for (const child of children) {
      if (moves.has(node)) moves.add(child);
      if (hides.has(node)) hides.add(child);
    }
    if (mesh === undefined) continue;
    const isBaked = isIdentity(matrix);
    if (isBaked && !parents.has(node) && !hasTransform(json, node)) continue;
    let reason: KeptOut | null = null;
    if (skin !== undefined) reason = 'skinned';
    else if (moves.has(node) || animated.meshes.has(mesh)) reason = 'animated';
    else if (extensions?.EXT_mesh_gpu_instancing) reason = 'instanced';
    else if (hides.has(node) || matrix.slice(0, 12).every((value) => value === 0)) reason = 'hidden';
    else if (elsewhere.has(node)) reason = 'in-another-scene';
    else if (!matrix.every(Number.isFinite)) reason = 'unreadable';
    else if (model && !isBaked && !json.meshes![mesh]!.primitives.every((one) => canBake(model, one, matrix))) {
      reason = 'unreadable';
    }
    if (reason) keptOut.set(reason, (keptOut.get(reason) ?? 0) + 1);
    else nodes.push({ node, mesh, matrix: isBaked ? null : matrix });
  }
  return { nodes, keptOut };
}

function isIdentity(matrix: Matrix): boolean {
  return matrix.every((value, at) => Math.abs(value - (at % 5 === 0 ? 1 : 0)) <= NOISE);
}

function hasTransform(json: GltfJson, index: number): boolean {
  const { matrix, translation, rotation, scale } = json.nodes![index]!;
  return Boolean(matrix ?? translation ?? rotation ?? scale);
}

/** Scales that differ by less than this share count as the same. */
const SAME_SCALE = 1e-3;

/** How the thickness of volumes changes, since `KHR_materials_volume` states it in the space of the mesh. */
interface ThicknessPlan {
  /** Factor for the thickness of each material. */
  readonly factors: ReadonlyMap<number, number>;
  /** Materials on meshes of several scales, of which one thickness can follow only one. */
  readonly uneven: readonly number[];
}

/** Finds the factors for thickness once the scale of the meshes is baked; of an uneven scale the mean. */
function planThickness(json: GltfJson, baked: readonly BakedNode[]): ThicknessPlan {
  const byNode = new Map(baked.map(({ node, matrix }) => [node, matrix]));
  const scales = new Map<number, { low: number; high: number }>();
  json.nodes?.forEach(({ mesh }, node) => {
    if (mesh === undefined) return;
    const matrix = byNode.get(node);
    // a flat mesh keeps its thickness, since thickness 0 means another kind of glass
    const scale = (matrix && meanScale(matrix)) || 1;
    for (const material of listMaterialsOf(json.meshes![mesh]!.primitives)) {
      if (!hasThickness(json.materials?.[material])) continue;
      const { low, high } = scales.get(material) ?? { low: scale, high: scale };
      scales.set(material, { low: Math.min(low, scale), high: Math.max(high, scale) });
    }
  });
  const factors = new Map<number, number>();
  const uneven: number[] = [];
  for (const [material, { low, high }] of scales) {
    if (high - low > SAME_SCALE * high) uneven.push(material);
    else if (Math.abs(low - 1) > SAME_SCALE) factors.set(material, low);
  }
  return { factors, uneven };
}

function hasThickness(material: MaterialJson | undefined): boolean {
  const thickness = material?.extensions?.KHR_materials_volume?.thicknessFactor;
  return typeof thickness === 'number' && thickness !== 0;
}

function bakeThickness(json: GltfJson, { factors }: ThicknessPlan): void {
  for (const [material, factor] of factors) {
    const volume = json.materials![material]!.extensions!.KHR_materials_volume!;
    volume.thicknessFactor = (volume.thicknessFactor as number) * factor;
  }
}

/** Lists in words the thicknesses that cannot follow. */
function listThicknessLosses(json: GltfJson, { uneven }: ThicknessPlan): string[] {
  return uneven.map((index) =>
    REPAIR_LOSSES.thickness(labelMaterial({ name: readName(json.materials![index]!.name), index })),
  );
}
