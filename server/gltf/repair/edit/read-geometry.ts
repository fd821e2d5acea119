import { DRACO, type GltfJson, MESHOPT, type PrimitiveJson, TYPE_COMPONENTS } from '../../document/json.ts';
import { type LoadedModel, readAccessor, readIndices } from '../../document/read-accessor.ts';
import { listTriangles } from '../../geometry/list-triangles.ts';
import type { ModelEdit } from './model-edit.ts';

/**
 * Reads an accessor as floats; the caller must not change them. Unlike `readAccessor`, it also reads accessors without a
 * view, which are zeros with sparse values (glTF 2.0 §3.6.2.1). Null when the bytes are missing.
 */
export function readFloats(model: LoadedModel, index: number): Float32Array | null {
  const { bufferView, sparse, count, type } = model.json.accessors![index]!;
  if (bufferView !== undefined || model.arrays?.has(index)) return readAccessor(model, index);
  const components = TYPE_COMPONENTS[type]!;
  const values = new Float32Array(count * components);
  if (!sparse) return values;
  const { componentType, normalized } = model.json.accessors![index]!;
  const parts = [
    { ...sparse.indices, count: sparse.count, type: 'SCALAR' },
    { ...sparse.values, componentType, normalized, count: sparse.count, type },
  ];
  const read = { ...model, json: { ...model.json, accessors: parts } as GltfJson, cache: undefined, arrays: undefined };
  const [places, put] = [readIndices(read, 0), readAccessor(read, 1)];
  if (!places || !put) return null;
  for (let i = 0; i < sparse.count; i++) {
    const at = places[i]! * components;
    if (at + components <= values.length) values.set(put.subarray(i * components, (i + 1) * components), at);
  }
  return values;
}

/** Whether an accessor holds uncompressed single-precision floats in the BIN chunk. */
export function isPlain({ json, bin, added }: ModelEdit, index: number): boolean {
  const { componentType, bufferView, sparse } = json.accessors![index]!;
  if (componentType !== FLOAT) return false;
  return [bufferView, sparse?.indices.bufferView, sparse?.values.bufferView].every((at) => {
    if (at === undefined || added.has(at)) return true;
    const view = json.bufferViews![at]!;
    return bin !== null && view.buffer === 0 && !MESHOPT.some((name) => view.extensions?.[name]);
  });
}

/** Whether the positions of a mesh, morph targets included, are plain floats: neither quantised nor compressed. */
export function isPlainMesh(edit: ModelEdit, mesh: number): boolean {
  return edit.json.meshes![mesh]!.primitives.every(
    ({ attributes, targets = [], extensions }) =>
      !extensions?.[DRACO] &&
      [attributes, ...targets].every(({ POSITION }) => POSITION === undefined || isPlain(edit, POSITION)),
  );
}

const FLOAT = 5126;

/** The triangles of a primitive, checked. */
export interface PartGeometry {
  /** Vertex indices of the source, three for each triangle. */
  readonly triangles: Uint32Array;
  readonly sourceVertices: number;
  /** Vertices that triangles use, ascending; null when all are used. */
  readonly used: Uint32Array | null;
}

const TYPES: readonly (readonly [RegExp, readonly string[]])[] = [
  [/^(POSITION|NORMAL)$/, ['VEC3']],
  [/^TANGENT$/, ['VEC4']],
  [/^TEXCOORD_\d+$/, ['VEC2']],
  [/^COLOR_\d+$/, ['VEC3', 'VEC4']],
];

/** Reads and checks a primitive; null when it cannot be read or drawn, for example for an index out of range. */
export function readPart(model: LoadedModel, primitive: PrimitiveJson): PartGeometry | null {
  const { json } = model;
  const position = json.accessors![primitive.attributes.POSITION!]!;
  for (const [name, index] of Object.entries(primitive.attributes)) {
    const accessor = json.accessors![index]!;
    const types = TYPES.find(([pattern]) => pattern.test(name))?.[1];
    if (accessor.count !== position.count || (types && !types.includes(accessor.type))) return null;
    // an attribute that could not be decoded from Draco has no bytes
    const packed = primitive.extensions?.[DRACO] && !model.arrays?.has(index);
    if (packed || !isReadable(model, index)) return null;
  }
  const triangles = listTriangles(model, primitive);
  const positions = readAccessor(model, primitive.attributes.POSITION!);
  if (!triangles || triangles.length === 0 || !positions) return null;
  const isUsed = new Uint8Array(position.count);
  let count = 0;
  for (let i = 0; i < triangles.length; i++) {
    const vertex = triangles[i]!;
    if (vertex >= position.count) return null;
    if (isUsed[vertex] === 1) continue;
    isUsed[vertex] = 1;
    count++;
    const at = vertex * 3;
    if (!Number.isFinite(positions[at]! + positions[at + 1]! + positions[at + 2]!)) return null;
  }
  return { triangles, sourceVertices: position.count, used: count === position.count ? null : list(isUsed, count) };
}

function list(isUsed: Uint8Array, count: number): Uint32Array {
  const used = new Uint32Array(count);
  for (let vertex = 0, at = 0; at < count; vertex++) if (isUsed[vertex] === 1) used[at++] = vertex;
  return used;
}

/** Whether `readAccessor` can read it, or it is all zeros. */
function isReadable({ json, bin, views, arrays }: LoadedModel, index: number): boolean {
  if (arrays?.has(index)) return true;
  const { bufferView, sparse, type } = json.accessors![index]!;
  if (TYPE_COMPONENTS[type] === undefined) return false;
  if (bufferView === undefined) return sparse === undefined;
  return [bufferView, sparse?.indices.bufferView, sparse?.values.bufferView].every((at) => {
    if (at === undefined || views?.has(at)) return true;
    const view = json.bufferViews![at]!;
    return bin !== null && view.buffer === 0 && !MESHOPT.some((name) => view.extensions?.[name]);
  });
}
