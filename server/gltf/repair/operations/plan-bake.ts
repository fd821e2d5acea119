import { DRACO, type GltfJson, MESHOPT } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listParents, listSceneNodes, type Matrix } from '../../document/world-matrices.ts';
import { canBake } from './bake-mesh.ts';
import { type KeptOut, listAnimated, listNodesElsewhere } from './plan-merge.ts';

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

/** Whether any of these meshes has geometry that must be unpacked before it can be changed. */
export function isCompressed(json: GltfJson, nodes: readonly BakedNode[]): boolean {
  return nodes.some(
    ({ mesh, matrix }) =>
      matrix !== null &&
      json.meshes![mesh]!.primitives.some(({ attributes, indices, targets = [], extensions }) => {
        const accessors = [indices, ...[attributes, ...targets].flatMap((set) => Object.values(set))];
        return (
          extensions?.[DRACO] !== undefined ||
          accessors.some((accessor) => {
            const view = json.bufferViews?.[json.accessors?.[accessor ?? -1]?.bufferView ?? -1];
            return MESHOPT.some((name) => view?.extensions?.[name]);
          })
        );
      }),
  );
}
