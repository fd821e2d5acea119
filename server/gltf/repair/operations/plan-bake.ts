import type { GltfJson, MaterialJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listParents, listSceneNodes, type Matrix, meanScale } from '../../document/world-matrices.ts';
import { type KeptOut, listAnimated, listNodesElsewhere } from '../edit/scene-roles.ts';
import { canBake } from './bake-mesh.ts';
import { listMaterialsOf } from './scale-lengths.ts';

/** A node whose mesh becomes a root without a transform. */
export interface BakedNode {
  readonly node: number;
  readonly mesh: number;
  /** World matrix; null for the identity, where only the node's place in the tree changes. */
  readonly matrix: Matrix | null;
}

export interface BakePlan {
  /** Parents before children. */
  readonly nodes: readonly BakedNode[];
  /** Nodes that stay as they are, by reason. */
  readonly keptOut: ReadonlyMap<KeptOut, number>;
}

/** Rounding error of a chain of multiplications. */
const NOISE = 1e-9;

/** Finds the nodes whose transforms can be baked. @param model to check the geometry too; without it only the JSON counts */
export function planBake(json: GltfJson, model?: LoadedModel): BakePlan {
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
    else if (elsewhere.has(node)) reason = 'shown by another scene too';
    else if (!matrix.every(Number.isFinite)) reason = 'that cannot be read';
    else if (model && !isBaked && !json.meshes![mesh]!.primitives.every((one) => canBake(model, one, matrix))) {
      reason = 'that cannot be read';
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
export interface ThicknessPlan {
  /** Factor for the thickness of each material. */
  readonly factors: ReadonlyMap<number, number>;
  /** Materials on meshes of several scales, of which one thickness can follow only one. */
  readonly uneven: readonly number[];
}

/** Finds the factors for thickness once the scale of the meshes is baked; of an uneven scale the mean. */
export function planThickness(json: GltfJson, baked: readonly BakedNode[]): ThicknessPlan {
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

export function bakeThickness(json: GltfJson, { factors }: ThicknessPlan): void {
  for (const [material, factor] of factors) {
    const volume = json.materials![material]!.extensions!.KHR_materials_volume!;
    volume.thicknessFactor = (volume.thicknessFactor as number) * factor;
  }
}

/** Lists in words the thicknesses that cannot follow. */
export function listThicknessLosses(json: GltfJson, { uneven }: ThicknessPlan): string[] {
  return uneven.map(
    (material) =>
      `the thickness of ${json.materials![material]!.name ? `“${json.materials![material]!.name}”` : `/materials/${material}`}, used at several scales`,
  );
}
