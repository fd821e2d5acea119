import type { GltfJson } from '../json.ts';
import { isPosed, placeVertices } from './place-vertices.ts';
import type { LoadedModel } from './read-accessor.ts';
import { addPoint, isAxisAligned, type Matrix } from './world-matrices.ts';

/**
 * The scene's overall box, in metres.
 * An accessor's own bounds serve where the node keeps boxes boxes; under a turned node, in a skin or with morph targets
 * every position is put where it is shown. Where those positions are compressed the box of the turned bounds is taken, which is never too small.
 */
export function measureBox(
  model: LoadedModel,
  nodes: readonly { readonly node: number; readonly matrix: Matrix }[],
): { box: { min: number[]; max: number[] } | null; exact: boolean } {
  const box = { min: [Infinity, Infinity, Infinity], max: [-Infinity, -Infinity, -Infinity] };
  const worlds = new Map(nodes.map(({ node, matrix }) => [node, matrix]));
  let exact = true;
  for (const { node, matrix } of nodes) {
    const mesh = model.json.nodes![node]!.mesh;
    if (mesh === undefined) continue;
    for (const primitive of model.json.meshes![mesh]!.primitives) {
      const accessor = primitive.attributes.POSITION;
      if (accessor === undefined) continue;
      const bounds = readBounds(model.json, accessor);
      if (bounds && isAxisAligned(matrix) && !isPosed(model.json, node, primitive)) {
        addCorners(box, matrix, bounds);
        continue;
      }
      const points = new Float32Array(model.json.accessors![accessor]!.count * 3);
      if (placeVertices(model, { node, primitive, matrix }, worlds, points, 0)) addPoints(box, points);
      else if (bounds) {
        addCorners(box, matrix, bounds);
        exact = false;
      }
    }
  }
  return { box: box.min.every(Number.isFinite) && box.max.every(Number.isFinite) ? box : null, exact };
}

/** Points that are not finite are no part of the size. */
function addPoints(box: { min: number[]; max: number[] }, points: Float32Array): void {
  for (let i = 0; i + 2 < points.length; i += 3) {
    for (let axis = 0; axis < 3; axis++) {
      const value = points[i + axis]!;
      if (!Number.isFinite(value)) continue;
      if (value < box.min[axis]!) box.min[axis] = value;
      if (value > box.max[axis]!) box.max[axis] = value;
    }
  }
}

function readBounds(json: GltfJson, index: number): { min: number[]; max: number[] } | null {
  const { min, max, normalized, componentType } = json.accessors![index]!;
  if (!min || !max) return null;
  const scale = normalized
    ? componentType === 5120
      ? 1 / 127
      : componentType === 5121
        ? 1 / 255
        : componentType === 5122
          ? 1 / 32767
          : 1 / 65535
    : 1;
  return { min: min.map((value) => value * scale), max: max.map((value) => value * scale) };
}

function addCorners(
  box: { min: number[]; max: number[] },
  matrix: Matrix,
  { min, max }: { min: number[]; max: number[] },
): void {
  for (let corner = 0; corner < 8; corner++) {
    addPoint(box, matrix, (corner & 1 ? max : min)[0]!, (corner & 2 ? max : min)[1]!, (corner & 4 ? max : min)[2]!);
  }
}
