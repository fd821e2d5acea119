import { type PrimitiveJson, TRIANGLES } from '../json.ts';
import { type LoadedModel, readAccessor, readIndices } from './read-accessor.ts';
import type { Matrix } from './world-matrices.ts';

/** Area on the surface (m²) and in TEXCOORD_0 (UV units²) of what was measured. */
export interface UvArea {
  surface: number;
  uv: number;
}

/** Sampling every n-th triangle of very large parts keeps the measure quick; a ratio of areas bears it well. */
const SAMPLED_TRIANGLES = 200_000;

/** Adds a primitive's area in the world and in UV; compressed geometry and other modes add nothing. */
export function addUvArea(model: LoadedModel, primitive: PrimitiveJson, matrix: Matrix, sum: UvArea): void {
  const { POSITION, TEXCOORD_0 } = primitive.attributes;
  if (POSITION === undefined || TEXCOORD_0 === undefined || (primitive.mode ?? TRIANGLES) !== TRIANGLES) return;
  const positions = readAccessor(model, POSITION);
  const uvs = readAccessor(model, TEXCOORD_0);
  const indices = primitive.indices === undefined ? null : readIndices(model, primitive.indices);
  if (!positions || !uvs || (primitive.indices !== undefined && !indices)) return;
  const corners = indices ? indices.length : positions.length / 3;
  const triangles = Math.floor(corners / 3);
  const step = Math.max(1, Math.ceil(triangles / SAMPLED_TRIANGLES));
  for (let t = 0; t < triangles; t += step) {
    const a = indices ? indices[t * 3]! : t * 3;
    const b = indices ? indices[t * 3 + 1]! : t * 3 + 1;
    const c = indices ? indices[t * 3 + 2]! : t * 3 + 2;
    const surface = worldArea(positions, matrix, a, b, c) * step;
    const uv =
      (Math.abs(
        (uvs[b * 2]! - uvs[a * 2]!) * (uvs[c * 2 + 1]! - uvs[a * 2 + 1]!) -
          (uvs[c * 2]! - uvs[a * 2]!) * (uvs[b * 2 + 1]! - uvs[a * 2 + 1]!),
      ) /
        2) *
      step;
    if (Number.isFinite(surface) && Number.isFinite(uv)) {
      sum.surface += surface;
      sum.uv += uv;
    }
  }
}

function worldArea(p: Float32Array, m: Matrix, a: number, b: number, c: number): number {
  const edge = (from: number, to: number): [number, number, number] => {
    const x = p[to * 3]! - p[from * 3]!;
    const y = p[to * 3 + 1]! - p[from * 3 + 1]!;
    const z = p[to * 3 + 2]! - p[from * 3 + 2]!;
    return [m[0]! * x + m[4]! * y + m[8]! * z, m[1]! * x + m[5]! * y + m[9]! * z, m[2]! * x + m[6]! * y + m[10]! * z];
  };
  const [ux, uy, uz] = edge(a, b);
  const [vx, vy, vz] = edge(a, c);
  return Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx) / 2;
}
