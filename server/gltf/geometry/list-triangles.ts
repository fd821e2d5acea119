import { DRACO, type PrimitiveJson, TRIANGLE_FAN, TRIANGLE_STRIP, TRIANGLES } from '../document/json.ts';
import { type LoadedModel, readIndices } from '../document/read-accessor.ts';

/**
 * Corners of a primitive's triangles as indices of vertices, three for each triangle, in drawing order. Strips and fans become
 * lists with the winding of glTF 2.0 §3.7.2.1. Surplus corners at the end are dropped.
 * @returns null for points and lines, and where indices cannot be read or would not fit into memory
 */
export function listTriangles(model: LoadedModel, primitive: PrimitiveJson): Uint32Array | null {
  const mode = isTriangleList(model, primitive) ? TRIANGLES : primitive.mode;
  const position = primitive.attributes.POSITION;
  if (position === undefined || !drawsTriangles(primitive)) return null;
  const corners =
    primitive.indices === undefined
      ? count(model.json.accessors![position]!.count)
      : readIndices(model, primitive.indices);
  if (!corners) return null;
  if (mode === TRIANGLES) return corners.subarray(0, corners.length - (corners.length % 3));
  const triangles = new Uint32Array(Math.max(0, corners.length - 2) * 3);
  for (let t = 0, at = 0; at < triangles.length; t++, at += 3) {
    if (mode === TRIANGLE_STRIP) {
      triangles[at] = corners[t]!;
      triangles[at + 1] = corners[t + 1 + (t % 2)]!;
      triangles[at + 2] = corners[t + 2 - (t % 2)]!;
    } else {
      triangles[at] = corners[t + 1]!;
      triangles[at + 1] = corners[t + 2]!;
      triangles[at + 2] = corners[0]!;
    }
  }
  return triangles;
}

/**
 * Whether the indices list three corners for each triangle. Draco geometry does so even where the primitive's mode is a strip: the
 * decoder returns triangles (KHR_draco_mesh_compression).
 */
export function isTriangleList(
  { arrays }: LoadedModel,
  { mode = TRIANGLES, indices, extensions }: PrimitiveJson,
): boolean {
  return mode === TRIANGLES || (extensions?.[DRACO] !== undefined && arrays?.has(indices ?? -1) === true);
}

export function drawsTriangles({ mode = TRIANGLES }: PrimitiveJson): boolean {
  return mode === TRIANGLES || mode === TRIANGLE_STRIP || mode === TRIANGLE_FAN;
}

/** Most corners of a primitive without indices. Only a file whose positions have no bytes can claim more. */
const CORNER_LIMIT = 400_000_000;

function count(length: number): Uint32Array | null {
  if (length > CORNER_LIMIT) return null;
  const out = new Uint32Array(length);
  for (let i = 0; i < length; i++) out[i] = i;
  return out;
}

/** Indices in as few bytes as the number of vertices allows. 65535 stays unused, since it would restart a strip. */
export function packIndices(indices: Uint32Array, vertices: number): Uint32Array | Uint16Array {
  return vertices <= 65535 ? Uint16Array.from(indices) : indices;
}
