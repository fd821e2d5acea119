import { MESHOPT } from '../../document/json.ts';
import { ARRAY_BUFFER, bytesPerElement, type ModelEdit } from './model-edit.ts';
import { readFloats } from './read-floats.ts';

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
