import type { GltfJson } from '../document/json.ts';
import { type LoadedModel, readAccessor } from '../document/read-accessor.ts';
import { addPoint, isAxisAligned, type Matrix, type SceneNode } from '../document/world-matrices.ts';
import { isPosed, placeVertices } from './place-vertices.ts';

/**
 * Measures the scene's overall box, in metres. Under a node that keeps boxes axis-aligned, the bounds of the positions are
 * enough. Under a rotated node, in a skin or with morph targets, every position is placed in the scene. If positions cannot
 * be read, the bounds that the file states are transformed with the node; this box is never too small.
 * @returns `exact`: false if a stated box was transformed
 */
export function measureBox(
  model: LoadedModel,
  nodes: readonly SceneNode[],
): { box: { min: number[]; max: number[] } | null; exact: boolean } {
  const box = makeBox();
  const worlds = new Map(nodes.map(({ node, matrix }) => [node, matrix]));
  const known = new Map<number, Bounds | null>();
  let exact = true;
  for (const { node, matrix } of nodes) {
    const mesh = model.json.nodes![node]!.mesh;
    if (mesh === undefined) continue;
    for (const primitive of model.json.meshes![mesh]!.primitives) {
      const accessor = primitive.attributes.POSITION;
      if (accessor === undefined || model.json.accessors![accessor]!.type !== 'VEC3') continue;
      let bounds = known.get(accessor);
      if (bounds === undefined) {
        bounds = findBounds(model, accessor);
        known.set(accessor, bounds);
      }
      const positions = readAccessor(model, accessor);
      const keepsBoxes = isAxisAligned(matrix) && !isPosed(model.json, node, primitive);
      if (!positions || keepsBoxes) {
        if (!bounds) continue;
        addCorners(box, matrix, bounds);
        if (!keepsBoxes) exact = false;
        continue;
      }
      const points = new Float32Array(positions.length);
      placeVertices(model, { node, primitive, matrix }, worlds, points, 0);
      addPoints(box, points);
    }
  }
  return { box: box.min.every(Number.isFinite) && box.max.every(Number.isFinite) ? box : null, exact };
}

interface Bounds {
  readonly min: readonly number[];
  readonly max: readonly number[];
}

/** Share of the largest coordinate by which stated and real bounds may differ, since exporters round differently. */
const ROUNDING = 1e-6;

/**
 * Bounds of an accessor, from its values or, if these cannot be read, from the file. If both agree, the stated ones count,
 * since they are not rounded to single precision.
 */
function findBounds(model: LoadedModel, accessor: number): Bounds | null {
  const stated = readBounds(model.json, accessor);
  const positions = readAccessor(model, accessor);
  if (!positions) return stated;
  const real = makeBox();
  addPoints(real, positions);
  if (!real.min.every(Number.isFinite) || !real.max.every(Number.isFinite)) return null;
  const most = Math.max(...real.min.map(Math.abs), ...real.max.map(Math.abs));
  const agrees = (one: readonly number[], other: readonly number[]) =>
    one.every((value, axis) => Math.abs(value - other[axis]!) <= most * ROUNDING);
  return stated && agrees(stated.min, real.min) && agrees(stated.max, real.max) ? stated : real;
}

function makeBox(): { min: number[]; max: number[] } {
  return { min: [Infinity, Infinity, Infinity], max: [-Infinity, -Infinity, -Infinity] };
}

/** Points that are not finite do not count. */
function addPoints({ min, max }: { min: number[]; max: number[] }, points: Float32Array): void {
  let [x0, y0, z0] = min as [number, number, number];
  let [x1, y1, z1] = max as [number, number, number];
  for (let i = 0; i + 2 < points.length; i += 3) {
    const x = points[i]!;
    const y = points[i + 1]!;
    const z = points[i + 2]!;
    const sum = x + y + z;
    if (sum - sum !== 0) continue;
    if (x < x0) x0 = x;
    if (y < y0) y0 = y;
    if (z < z0) z0 = z;
    if (x > x1) x1 = x;
    if (y > y1) y1 = y;
    if (z > z1) z1 = z;
  }
  min.splice(0, 3, x0, y0, z0);
  max.splice(0, 3, x1, y1, z1);
}

function readBounds(json: GltfJson, index: number): Bounds | null {
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

function addCorners(box: { min: number[]; max: number[] }, matrix: Matrix, { min, max }: Bounds): void {
  for (let corner = 0; corner < 8; corner++) {
    addPoint(box, matrix, (corner & 1 ? max : min)[0]!, (corner & 2 ? max : min)[1]!, (corner & 4 ? max : min)[2]!);
  }
}
