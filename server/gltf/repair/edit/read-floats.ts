import { DRACO, type GltfJson, MESHOPT, TYPE_COMPONENTS } from '../../document/json.ts';
import { type LoadedModel, readAccessor, readIndices } from '../../document/read-accessor.ts';
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
