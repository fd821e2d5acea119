import type { GltfJson, MaterialJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listParents, listSceneNodes, type Matrix, meanScale } from '../../document/world-matrices.ts';
import { type KeptOut, listAnimated, listNodesElsewhere } from '../edit/scene-roles.ts';
import { canBake } from './bake-mesh.ts';
import { listWorn } from './scale-lengths.ts';

/** A node whose mesh is to stand at the root, under no transform. */
export interface BakedNode {
  readonly node: number;
  readonly mesh: number;
  /** World matrix; null when it changes nothing and only the node's place in the tree does. */
  readonly matrix: Matrix | null;
}

export interface BakePlan {
  /** Parents before children. */
  readonly nodes: readonly BakedNode[];
  /** Nodes that are left as they are, by reason. */
  readonly keptOut: ReadonlyMap<KeptOut, number>;
}

/** A billionth: what a chain of multiplications leaves of an identity. */
const NOISE = 1e-9;

/** Finds the nodes whose transforms can be baked. @param model to look into geometry; without, the JSON alone tells */
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

/** Scales nearer than this are one: the noise of a chain of multiplications. */
const SAME_SCALE = 1e-3;

/** What becomes of the thickness of volumes (`KHR_materials_volume`), which is stated in the space of the mesh. */
export interface ThicknessPlan {
  /** What a material's thickness is multiplied by. */
  readonly factors: ReadonlyMap<number, number>;
  /** Materials worn at several scales, of which a thickness can follow but one. */
  readonly uneven: readonly number[];
}

/** Finds how thick volumes are to be once the scale of what wears them is baked. Under an uneven scale the mean counts. */
export function planThickness(json: GltfJson, baked: readonly BakedNode[]): ThicknessPlan {
  const byNode = new Map(baked.map(({ node, matrix }) => [node, matrix]));
  const scales = new Map<number, { low: number; high: number }>();
  json.nodes?.forEach(({ mesh }, node) => {
    if (mesh === undefined) return;
    const matrix = byNode.get(node);
    // one that is flat stays as it is: thickness 0 would be another kind of glass
    const scale = (matrix && meanScale(matrix)) || 1;
    for (const material of listWorn(json.meshes![mesh]!.primitives)) {
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

/** What cannot follow, in words. */
export function listThicknessLosses(json: GltfJson, { uneven }: ThicknessPlan): string[] {
  return uneven.map(
    (material) =>
      `the thickness of ${json.materials![material]!.name ? `“${json.materials![material]!.name}”` : `/materials/${material}`}, worn at several scales`,
  );
}
