import { DRACO, MESHOPT, TYPE_COMPONENTS } from '../json.ts';
import { decodeGeometry } from '../survey/decode-geometry.ts';
import { storedRange } from '../survey/list-readers.ts';
import { ARRAY_BUFFER, ELEMENT_ARRAY_BUFFER, findBounds, type ModelEdit } from './model-edit.ts';

/**
 * Unpacks all compressed geometry into plain accessors, so that it can be changed: Draco primitives, and views of
 * meshopt. What cannot be unpacked stays as it is.
 * @returns bytes of the unpacked geometry; 0 when there was nothing to unpack
 */
export async function unpackGeometry(edit: ModelEdit): Promise<number> {
  const { json } = edit;
  const { views, arrays } = await decodeGeometry({ json, bin: edit.bin }, 'all');
  let bytes = 0;
  for (const [index, unpacked] of views ?? []) {
    const view = json.bufferViews![index]!;
    const { buffer, start, end } = storedRange(json, index);
    if (buffer === 0) edit.freedRanges.push({ start, end });
    for (const name of MESHOPT) delete view.extensions?.[name];
    if (view.extensions && Object.keys(view.extensions).length === 0) delete view.extensions;
    view.buffer = 0;
    delete view.byteOffset;
    view.byteLength = unpacked.length;
    edit.added.set(index, unpacked);
    bytes += unpacked.length;
  }
  for (const [index, values] of arrays ?? []) {
    const accessor = json.accessors![index]!;
    const isIndex = values instanceof Uint32Array;
    accessor.bufferView = edit.addView(new Uint8Array(values.buffer, values.byteOffset, values.byteLength), {
      target: isIndex ? ELEMENT_ARRAY_BUFFER : ARRAY_BUFFER,
    });
    delete accessor.byteOffset;
    accessor.componentType = isIndex ? 5125 : values instanceof Uint16Array ? 5123 : 5126;
    delete accessor.normalized;
    // bounds of a Draco accessor may be those of what was packed, which packing has rounded
    if (accessor.min || accessor.max) Object.assign(accessor, findBounds(values, TYPE_COMPONENTS[accessor.type]!));
    bytes += values.byteLength;
  }
  for (const mesh of json.meshes ?? []) {
    for (const primitive of mesh.primitives) {
      if (!primitive.extensions?.[DRACO]) continue;
      const accessors = [...Object.values(primitive.attributes), primitive.indices];
      if (accessors.some((accessor) => accessor !== undefined && !arrays?.has(accessor))) continue;
      delete primitive.extensions[DRACO];
      if (Object.keys(primitive.extensions).length === 0) delete primitive.extensions;
    }
  }
  if (bytes > 0) undeclare(edit);
  return bytes;
}

/** Takes compression off the lists of extensions once nothing is compressed any more. */
function undeclare({ json }: ModelEdit): void {
  const left = new Set([
    ...(json.bufferViews ?? []).flatMap((view) => Object.keys(view.extensions ?? {})),
    ...(json.meshes ?? []).flatMap((mesh) =>
      mesh.primitives.flatMap((primitive) => Object.keys(primitive.extensions ?? {})),
    ),
  ]);
  const gone = [DRACO, ...MESHOPT].filter((name) => !left.has(name));
  for (const key of ['extensionsUsed', 'extensionsRequired'] as const) {
    const list = json[key]?.filter((name) => !gone.includes(name as never));
    if (!list) continue;
    if (list.length > 0) json[key] = list;
    else delete json[key];
  }
}
