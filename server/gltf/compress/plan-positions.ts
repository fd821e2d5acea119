import { isKnownExtension } from '../document/extensions.ts';
import type { GltfJson, NodeJson } from '../document/json.ts';
import { type LoadedModel, readAccessor } from '../document/read-accessor.ts';
import { listMaterialsOf } from '../document/read-material.ts';
import { localMatrix, multiply } from '../document/world-matrices.ts';
import { type AccessorUse, isFloat } from './accessor-uses.ts';

interface PositionPlan {
  /** Offset and scale of each accessor: position = offset + scale × integer from −1 to 1. */
  readonly steps: ReadonlyMap<number, { readonly offset: readonly number[]; readonly scale: number }>;
  readonly keptMeshes: number;
  /** Gives the nodes of these meshes their offset and scale. */
  place(): void;
}

/**
 * Plans positions as integers. The scale goes onto the nodes of the mesh: onto the node itself where that changes nothing else, or
 * onto a new node below it. A mesh stays as it is when it is skinned, morphs, is repeated by an extension, or has a material whose
 * thickness counts in its own units.
 */
export function planPositions(
  json: GltfJson,
  source: LoadedModel,
  uses: ReadonlyMap<number, AccessorUse>,
): PositionPlan {
  const users = new Map<number, number[]>();
  json.nodes?.forEach(({ mesh }, node) => {
    if (mesh !== undefined) users.set(mesh, [...(users.get(mesh) ?? []), node]);
  });
  const meshesOf = new Map<number, Set<number>>();
  json.meshes?.forEach(({ primitives }, mesh) => {
    for (const { attributes } of primitives) {
      const index = attributes.POSITION;
      if (index !== undefined) meshesOf.set(index, (meshesOf.get(index) ?? new Set()).add(mesh));
    }
  });
  const animated = new Set(
    (json.animations ?? []).flatMap(({ channels = [] }) => channels.map(({ target }) => target?.node ?? -1)),
  );
  // a pointer of an animation may move any node
  const pointed = json.extensionsUsed?.includes('KHR_animation_pointer') ?? false;
  const steps = new Map<number, { offset: readonly number[]; scale: number }>();
  const placed: { mesh: number; offset: readonly number[]; scale: number }[] = [];
  let keptMeshes = 0;
  json.meshes?.forEach((mesh, index) => {
    const positions = [...new Set(mesh.primitives.flatMap(({ attributes }) => attributes.POSITION ?? []))];
    const nodes = (users.get(index) ?? []).map((node) => json.nodes![node]!);
    const fits =
      nodes.length > 0 &&
      positions.length > 0 &&
      positions.every(
        (at) =>
          uses.get(at) === 'position' && isFloat(json, at) && meshesOf.get(at)!.size === 1 && readAccessor(source, at),
      ) &&
      mesh.primitives.every(
        ({ targets, extensions }) => !targets?.length && Object.keys(extensions ?? {}).every(isKnownExtension),
      ) &&
      nodes.every(({ skin, extensions = {} }) => skin === undefined && !extensions.EXT_mesh_gpu_instancing) &&
      !hasThickness(json, listMaterialsOf(mesh.primitives));
    const box = fits ? boxOf(positions.map((at) => readAccessor(source, at)!)) : null;
    if (!box) {
      keptMeshes++;
      return;
    }
    for (const at of positions) steps.set(at, box);
    placed.push({ mesh: index, ...box });
  });
  return {
    steps,
    keptMeshes,
    place() {
      for (const { mesh, offset, scale } of placed) {
        for (const node of users.get(mesh)!) {
          placeNode(json, node, offset, scale, pointed || animated.has(node));
        }
      }
    },
  };
}

function hasThickness({ materials = [] }: GltfJson, used: ReadonlySet<number>): boolean {
  return [...used].some((index) => materials[index]?.extensions?.KHR_materials_volume !== undefined);
}

/** The middle and half the longest side of the values; null where they are not finite. */
function boxOf(lists: readonly Float32Array[]): { offset: readonly number[]; scale: number } | null {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const values of lists) {
    for (let i = 0; i < values.length; i++) {
      const value = values[i]!;
      if (!Number.isFinite(value)) return null;
      if (value < low[i % 3]!) low[i % 3] = value;
      if (value > high[i % 3]!) high[i % 3] = value;
    }
  }
  const offset = low.map((value, i) => (value + high[i]!) / 2);
  const scale = Math.max(...low.map((value, i) => (high[i]! - value) / 2));
  return { offset, scale: scale > 0 ? scale : 1 };
}

function placeNode(json: GltfJson, index: number, offset: readonly number[], scale: number, isAnimated: boolean): void {
  const node = json.nodes![index]!;
  const step = { translation: [...offset], scale: [scale, scale, scale] };
  const isPlain = !isAnimated && !node.children?.length && node.camera === undefined && node.extensions === undefined;
  if (!isPlain) {
    const { mesh } = node;
    delete node.mesh;
    const weights = (node as { weights?: unknown }).weights;
    delete (node as { weights?: unknown }).weights;
    const below = json.nodes!.push({ mesh, ...step, ...(weights !== undefined && { weights }) } as NodeJson) - 1;
    node.children = [...(node.children ?? []), below];
    return;
  }
  const matrix = multiply(localMatrix(node), localMatrix(step));
  if (node.matrix) {
    node.matrix = [...matrix];
    return;
  }
  node.translation = [matrix[12]!, matrix[13]!, matrix[14]!];
  node.scale = (node.scale ?? [1, 1, 1]).map((value) => value * scale);
}
