import { MESHOPT } from '../../document/json.ts';
import { isMirror, type Matrix } from '../../document/world-matrices.ts';
import { ARRAY_BUFFER, bytesPerElement, type ModelEdit } from './model-edit.ts';
import { readFloats } from './read-geometry.ts';

/** Transforms positions in place. Calculates in double precision, stores single. */
export function movePositions(values: Float32Array, m: Matrix): void {
  const [a, b, c, , d, e, f, , g, h, i, , x0, y0, z0] = m as number[];
  for (let at = 0; at < values.length; at += 3) {
    const x = values[at]!;
    const y = values[at + 1]!;
    const z = values[at + 2]!;
    values[at] = a! * x + d! * y + g! * z + x0!;
    values[at + 1] = b! * x + e! * y + h! * z + y0!;
    values[at + 2] = c! * x + f! * y + i! * z + z0!;
  }
}

/** Whether a matrix mirrors, which swaps front and back faces. */
export const windsBackwards = isMirror;

/** Transforms normals in place by the inverse transpose, and normalises them. A normal of length 0 becomes +Y. */
export function moveNormals(values: Float32Array, m: Matrix): void {
  const [a, b, c, , d, e, f, , g, h, i] = m as number[];
  // the cofactor matrix is the inverse transpose times the determinant, of which only the sign matters
  const sign = windsBackwards(m) ? -1 : 1;
  const xx = sign * (e! * i! - f! * h!);
  const xy = sign * (c! * h! - b! * i!);
  const xz = sign * (b! * f! - c! * e!);
  const yx = sign * (f! * g! - d! * i!);
  const yy = sign * (a! * i! - c! * g!);
  const yz = sign * (c! * d! - a! * f!);
  const zx = sign * (d! * h! - e! * g!);
  const zy = sign * (b! * g! - a! * h!);
  const zz = sign * (a! * e! - b! * d!);
  for (let at = 0; at < values.length; at += 3) {
    const x = values[at]!;
    const y = values[at + 1]!;
    const z = values[at + 2]!;
    setUnit(values, at, xx * x + xy * y + xz * z, yx * x + yy * y + yz * z, zx * x + zy * y + zz * z);
  }
}

/**
 * Transforms tangents in place. The bitangent is `cross(normal, tangent) × w` (glTF 2.0 §3.7.2.1). A mirror flips the cross
 * product, so it flips the sign of `w`.
 */
export function moveTangents(values: Float32Array, m: Matrix): void {
  const [a, b, c, , d, e, f, , g, h, i] = m as number[];
  const sign = windsBackwards(m) ? -1 : 1;
  for (let at = 0; at < values.length; at += 4) {
    const x = values[at]!;
    const y = values[at + 1]!;
    const z = values[at + 2]!;
    setUnit(values, at, a! * x + d! * y + g! * z, b! * x + e! * y + h! * z, c! * x + f! * y + i! * z);
    values[at + 3] = values[at + 3]! < 0 ? -sign : sign;
  }
}

/**
 * Computes flat normals of triangles without shared vertices, three vertices each.
 * @param p positions
 * @param backwards the corners still have the winding of before a mirror
 */
export function flatNormals(
  p: Float32Array,
  normals: Float32Array,
  first: number,
  vertices: number,
  backwards: boolean,
): void {
  const sign = backwards ? -1 : 1;
  for (let at = first * 3; at < (first + vertices) * 3; at += 9) {
    const ux = p[at + 3]! - p[at]!;
    const uy = p[at + 4]! - p[at + 1]!;
    const uz = p[at + 5]! - p[at + 2]!;
    const vx = p[at + 6]! - p[at]!;
    const vy = p[at + 7]! - p[at + 1]!;
    const vz = p[at + 8]! - p[at + 2]!;
    const x = sign * (uy * vz - uz * vy);
    const y = sign * (uz * vx - ux * vz);
    const z = sign * (ux * vy - uy * vx);
    for (let corner = 0; corner < 9; corner += 3) setUnit(normals, at + corner, x, y, z);
  }
}

function setUnit(values: Float32Array, at: number, x: number, y: number, z: number): void {
  const length = Math.sqrt(x * x + y * y + z * z);
  const usable = length > 0 && Number.isFinite(length);
  values[at] = usable ? x / length : 0;
  values[at + 1] = usable ? y / length : 1;
  values[at + 2] = usable ? z / length : 0;
}

/** Vertex attributes start at multiples of four bytes (glTF 2.0 §3.6.2.4). */
const ALIGNED = 4;

/**
 * Adds an accessor with the elements of another in a new order, some of them repeated. Copies bytes, so that quantised values
 * stay exact. Bounds stay too, since no element is left out.
 * @param gather for every new element the source element; must contain every source element
 */
export function gatherElements(edit: ModelEdit, index: number, gather: Uint32Array): number {
  const accessor = edit.json.accessors![index]!;
  const bytes = findBytes(edit, index);
  if (!bytes) return gatherValues(edit, index, gather);
  const { componentType, type, normalized, min, max } = accessor;
  const size = bytesPerElement(componentType, type);
  const from = edit.json.bufferViews![accessor.bufferView!]!.byteStride ?? size;
  const to = Math.ceil(size / ALIGNED) * ALIGNED;
  const out = new Uint8Array(gather.length * to);
  for (let i = 0; i < gather.length; i++) {
    const at = (accessor.byteOffset ?? 0) + gather[i]! * from;
    out.set(bytes.subarray(at, at + size), i * to);
  }
  const bufferView = edit.addView(out, { target: ARRAY_BUFFER, ...(to === size ? {} : { byteStride: to }) });
  return (
    edit.json.accessors!.push({
      bufferView,
      componentType,
      count: gather.length,
      type,
      ...(normalized ? { normalized } : {}),
      ...(min && max ? { min: [...min], max: [...max] } : {}),
    }) - 1
  );
}

/** Writes accessors with sparse values, or without a buffer view, as floats. */
function gatherValues(edit: ModelEdit, index: number, gather: Uint32Array): number {
  const { type, count, min } = edit.json.accessors![index]!;
  const values = readFloats(edit.loaded, index)!;
  const components = values.length / count;
  const out = new Float32Array(gather.length * components);
  for (let i = 0; i < gather.length; i++) {
    out.set(values.subarray(gather[i]! * components, (gather[i]! + 1) * components), i * components);
  }
  return edit.addAccessor(out, type, { target: ARRAY_BUFFER, bounds: min !== undefined });
}

/** The bytes of an accessor's view; null when they are compressed, sparse or missing. */
function findBytes({ json, bin, added }: ModelEdit, index: number): Uint8Array | null {
  const { bufferView, sparse } = json.accessors![index]!;
  if (bufferView === undefined || sparse) return null;
  const own = added.get(bufferView);
  if (own) return own;
  const view = json.bufferViews![bufferView]!;
  if (!bin || view.buffer !== 0 || MESHOPT.some((name) => view.extensions?.[name])) return null;
  return bin.subarray(view.byteOffset ?? 0, (view.byteOffset ?? 0) + view.byteLength);
}
