import type { GeometryLoss } from '../../core/delivery/compressed-form.ts';
import { type LoadedModel, readAccessor } from '../document/read-accessor.ts';
import { listSceneNodes, type Matrix } from '../document/world-matrices.ts';

/**
 * Measures what a written file lost of the geometry: every vertex that the scene draws, at its place, against the same vertex
 * before. Primitives and vertices have the same order in both.
 */
export function measureGeometry(before: LoadedModel, after: LoadedModel, keptMeshes: number): GeometryLoss {
  const drawn = new Map<number, Matrix>();
  for (const { node, matrix } of listSceneNodes(after.json)) drawn.set(node, matrix);
  let [position, cosine, uv, vertices] = [0, 1, 0, 0];
  for (const { node, matrix } of listSceneNodes(before.json)) {
    const { mesh } = before.json.nodes![node]!;
    if (mesh === undefined) continue;
    const target = findHolder(after, node, mesh);
    const placed = drawn.get(target);
    if (!placed) continue;
    before.json.meshes![mesh]!.primitives.forEach(({ attributes }, at) => {
      const others = after.json.meshes![mesh]!.primitives[at]!.attributes;
      for (const [name, index] of Object.entries(attributes)) {
        const [was, is] = [readAccessor(before, index), readAccessor(after, others[name]!)];
        if (!was || !is || was.length !== is.length) continue;
        if (name === 'POSITION') {
          position = Math.max(position, distance(was, matrix, is, placed));
          vertices += was.length / 3;
        } else if (name === 'NORMAL') cosine = Math.min(cosine, leastCosine(was, is));
        else if (name.startsWith('TEXCOORD_')) {
          for (let i = 0; i < was.length; i++) uv = Math.max(uv, Math.abs(was[i]! - is[i]!) || 0);
        }
      }
    });
  }
  return {
    positionMm: position * 1000,
    normalDegrees: (Math.acos(Math.min(1, cosine)) * 180) / Math.PI,
    uv,
    vertices,
    keptMeshes,
  };
}

/** The node of the written file with the mesh: the same, or a new one below it. */
function findHolder({ json }: LoadedModel, node: number, mesh: number): number {
  if (json.nodes![node]!.mesh === mesh) return node;
  return (json.nodes![node]!.children ?? []).find((child) => json.nodes![child]!.mesh === mesh) ?? -1;
}

function distance(was: Float32Array, a: Matrix, is: Float32Array, b: Matrix): number {
  let most = 0;
  for (let i = 0; i < was.length; i += 3) {
    let square = 0;
    for (let row = 0; row < 3; row++) {
      const before = a[row]! * was[i]! + a[4 + row]! * was[i + 1]! + a[8 + row]! * was[i + 2]! + a[12 + row]!;
      const after = b[row]! * is[i]! + b[4 + row]! * is[i + 1]! + b[8 + row]! * is[i + 2]! + b[12 + row]!;
      square += (before - after) ** 2;
    }
    if (square > most) most = square;
  }
  return Math.sqrt(most);
}

function leastCosine(was: Float32Array, is: Float32Array): number {
  let least = 1;
  for (let i = 0; i < was.length; i += 3) {
    const lengths = Math.hypot(was[i]!, was[i + 1]!, was[i + 2]!) * Math.hypot(is[i]!, is[i + 1]!, is[i + 2]!);
    if (!(lengths > 0)) continue;
    const cosine = (was[i]! * is[i]! + was[i + 1]! * is[i + 1]! + was[i + 2]! * is[i + 2]!) / lengths;
    if (cosine < least) least = cosine;
  }
  return least;
}
