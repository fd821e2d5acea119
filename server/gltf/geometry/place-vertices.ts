import type { GltfJson, PrimitiveJson } from '../document/json.ts';
import { type LoadedModel, readAccessor } from '../document/read-accessor.ts';
import { IDENTITY, type Matrix, multiply } from '../document/world-matrices.ts';

/**
 * Places a primitive's vertices in the scene: with morph targets at their default weights, in the current pose of the skin,
 * or by the node's world transform.
 * @param target receives x, y, z of every vertex, from vertex `at` on
 * @param origin subtracted from every vertex before rounding to single precision
 * @returns false, with `target` unchanged, when the positions cannot be read
 */
export function placeVertices(
  model: LoadedModel,
  { node, primitive, matrix }: { readonly node: number; readonly primitive: PrimitiveJson; readonly matrix: Matrix },
  worlds: ReadonlyMap<number, Matrix>,
  target: Float32Array,
  at: number,
  origin: readonly number[] = [0, 0, 0],
): boolean {
  const accessor = primitive.attributes.POSITION;
  if (accessor === undefined || model.json.accessors![accessor]!.type !== 'VEC3') return false;
  const plain = readAccessor(model, accessor);
  if (!plain) return false;
  const positions = morph(model, node, primitive, plain);
  const pose = readPose(model, node, primitive, worlds);
  if (pose && pose.joints.length === (positions.length / 3) * 4 && pose.weights.length === pose.joints.length) {
    placeSkinned(positions, pose, target, at, origin);
    return true;
  }
  const [a, b, c, , d, e, f, , g, h, i] = matrix as unknown as number[] & { length: 16 };
  const [x0, y0, z0] = [0, 1, 2].map((axis) => matrix[12 + axis]! - origin[axis]!);
  for (let from = 0, to = at * 3; from + 2 < positions.length; from += 3, to += 3) {
    const x = positions[from]!;
    const y = positions[from + 1]!;
    const z = positions[from + 2]!;
    target[to] = a! * x + d! * y + g! * z + x0!;
    target[to + 1] = b! * x + e! * y + h! * z + y0!;
    target[to + 2] = c! * x + f! * y + i! * z + z0!;
  }
  return true;
}

/** Whether a skin or morph targets move a primitive away from its node's transform. */
export function isPosed(json: GltfJson, node: number, primitive: PrimitiveJson): boolean {
  const { skin } = json.nodes![node]!;
  return (skin !== undefined && primitive.attributes.JOINTS_0 !== undefined) || listWeights(json, node).some(Boolean);
}

function listWeights(json: GltfJson, node: number): readonly number[] {
  const { mesh, weights } = json.nodes![node]! as { mesh?: number; weights?: unknown };
  const own = Array.isArray(weights) ? weights : json.meshes?.[mesh ?? -1]?.weights;
  return Array.isArray(own) ? own.map((weight) => (Number.isFinite(weight) ? (weight as number) : 0)) : [];
}

function morph(model: LoadedModel, node: number, primitive: PrimitiveJson, plain: Float32Array): Float32Array {
  let moved: Float32Array | null = null;
  for (const [index, weight] of listWeights(model.json, node).entries()) {
    const accessor = primitive.targets?.[index]?.POSITION;
    if (weight === 0 || accessor === undefined) continue;
    const deltas = readAccessor(model, accessor);
    if (deltas?.length !== plain.length) continue;
    moved ??= plain.slice();
    for (let i = 0; i < deltas.length; i++) moved[i]! += deltas[i]! * weight;
  }
  return moved ?? plain;
}

interface Pose {
  readonly joints: Float32Array;
  readonly weights: Float32Array;
  readonly matrices: readonly Matrix[];
}

/** The joints and weights of a primitive, and the matrices of its skin. */
function readPose(
  model: LoadedModel,
  node: number,
  primitive: PrimitiveJson,
  worlds: ReadonlyMap<number, Matrix>,
): Pose | null {
  const { JOINTS_0, WEIGHTS_0 } = primitive.attributes;
  const matrices = listSkinMatrices(model, node, worlds);
  if (!matrices || JOINTS_0 === undefined || WEIGHTS_0 === undefined) return null;
  const joints = readAccessor(model, JOINTS_0);
  const weights = readAccessor(model, WEIGHTS_0);
  return joints && weights ? { joints, weights, matrices } : null;
}

/** The matrix of each joint of a node's skin: its world matrix times its inverse bind matrix. Null without a skin. */
export function listSkinMatrices(
  model: LoadedModel,
  node: number,
  worlds: ReadonlyMap<number, Matrix>,
): readonly Matrix[] | null {
  const { json } = model;
  const skin = json.skins?.[json.nodes![node]!.skin ?? -1];
  if (!skin?.joints) return null;
  const inverses = skin.inverseBindMatrices === undefined ? null : readAccessor(model, skin.inverseBindMatrices);
  return skin.joints.map((joint, index) => {
    const world = worlds.get(joint) ?? IDENTITY;
    return inverses && inverses.length >= (index + 1) * 16
      ? multiply(world, [...inverses.subarray(index * 16, index * 16 + 16)])
      : world;
  });
}

function placeSkinned(
  positions: Float32Array,
  { joints, weights, matrices }: Pose,
  target: Float32Array,
  at: number,
  origin: readonly number[],
): void {
  for (let vertex = 0; vertex * 3 + 2 < positions.length; vertex++) {
    const [x, y, z] = [positions[vertex * 3]!, positions[vertex * 3 + 1]!, positions[vertex * 3 + 2]!];
    const sum = [0, 0, 0];
    let total = 0;
    for (let influence = 0; influence < 4; influence++) {
      const weight = weights[vertex * 4 + influence]!;
      const m = matrices[joints[vertex * 4 + influence]!];
      if (!m || weight === 0) continue;
      total += weight;
      for (let row = 0; row < 3; row++) {
        sum[row]! += weight * (m[row]! * x + m[4 + row]! * y + m[8 + row]! * z + m[12 + row]!);
      }
    }
    for (let row = 0; row < 3; row++) {
      target[(at + vertex) * 3 + row] = total > 0 ? sum[row]! / total - origin[row]! : Number.NaN;
    }
  }
}
