import type { GeometryFault } from '../../../core/product/survey.ts';
import { type LoadedModel, readAccessor } from '../../document/read-accessor.ts';
import { drawsTriangles, listTriangles } from '../../geometry/list-triangles.ts';

/** Share of the longest edge squared. A triangle of a smaller area is a line within single precision. */
const FLAT = 1e-9;

interface MeasuredFaults {
  readonly faults: GeometryFault[];
  /** Triangles that cannot be drawn, by mesh and primitive (`0/1`): a corner is not finite or out of range. */
  readonly lost: ReadonlyMap<string, number>;
}

/** Counts geometry that cannot be drawn or measured, by fault, with the place of the first. */
export function measureFaults(model: LoadedModel): MeasuredFaults {
  const { json } = model;
  const found = new Map<GeometryFault['fault'], { count: number; where: string }>();
  const add = (fault: GeometryFault['fault'], count: number, where: string) => {
    if (count === 0) return;
    const known = found.get(fault);
    if (known) known.count += count;
    else found.set(fault, { count, where });
  };
  const { undecodable = [] } = model;
  for (const where of undecodable) add('undecodable', 1, where);
  const looked = new Set<number>();
  const lost = new Map<string, number>();
  json.meshes?.forEach((mesh, m) => {
    mesh.primitives.forEach((primitive, p) => {
      const where = `/meshes/${m}/primitives/${p}`;
      const position = primitive.attributes.POSITION;
      const isPlace = position !== undefined && json.accessors![position]!.type === 'VEC3';
      const points = isPlace ? readAccessor(model, position) : null;
      const triangles = listTriangles(model, primitive);
      if (!drawsTriangles(primitive)) add('points-or-lines', 1, where);
      else if (position === undefined || triangles?.length === 0) add('empty-primitive', 1, where);
      else if (!points || !triangles) {
        // undecodable geometry is already reported
        if (undecodable.length === 0) add('not-readable', 1, where);
      } else {
        if (!looked.has(position)) add('positions-not-finite', countNotFinite(points), `/accessors/${position}`);
        looked.add(position);
        const { outside, flat, undrawn } = countBad(points, triangles);
        if (undrawn > 0) lost.set(`${m}/${p}`, undrawn);
        add('index-out-of-range', outside, `${where}/indices`);
        add('zero-area', flat, where);
      }
    });
  });
  return { faults: [...found].map(([fault, { count, where }]) => ({ fault, count, where })), lost };
}

/** Counts vertices with a coordinate that is not finite. */
function countNotFinite(points: Float32Array): number {
  let count = 0;
  for (let i = 0; i + 2 < points.length; i += 3) {
    if (!Number.isFinite(points[i]! + points[i + 1]! + points[i + 2]!)) count++;
  }
  return count;
}

function countBad(p: Float32Array, triangles: Uint32Array) {
  const vertices = p.length / 3;
  let outside = 0;
  let flat = 0;
  let undrawn = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const a = triangles[t]!;
    const b = triangles[t + 1]!;
    const c = triangles[t + 2]!;
    if (a >= vertices || b >= vertices || c >= vertices) {
      outside += (a >= vertices ? 1 : 0) + (b >= vertices ? 1 : 0) + (c >= vertices ? 1 : 0);
      undrawn++;
      continue;
    }
    const ux = p[b * 3]! - p[a * 3]!;
    const uy = p[b * 3 + 1]! - p[a * 3 + 1]!;
    const uz = p[b * 3 + 2]! - p[a * 3 + 2]!;
    const vx = p[c * 3]! - p[a * 3]!;
    const vy = p[c * 3 + 1]! - p[a * 3 + 1]!;
    const vz = p[c * 3 + 2]! - p[a * 3 + 2]!;
    const x = uy * vz - uz * vy;
    const y = uz * vx - ux * vz;
    const z = ux * vy - uy * vx;
    const edge = Math.max(ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz);
    // if an edge is not finite, a corner is not
    if (!Number.isFinite(edge)) undrawn++;
    // compares the square of twice the area with the fourth power of the edge
    else if (x * x + y * y + z * z <= FLAT * FLAT * edge * edge) flat++;
  }
  return { outside, flat, undrawn };
}
