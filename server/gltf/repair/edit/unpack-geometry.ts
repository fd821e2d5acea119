import { decodeGeometry } from '../../document/decode-geometry.ts';
import { filterDeclared } from '../../document/extensions.ts';
import {
  DRACO,
  type GltfJson,
  MESHOPT,
  type PrimitiveJson,
  TRIANGLE_STRIP,
  TYPE_COMPONENTS,
} from '../../document/json.ts';
import { readAccessor, type Unpacked } from '../../document/read-accessor.ts';
import { storedRange } from '../../document/stored-bytes.ts';
import { packIndices } from '../../geometry/list-triangles.ts';
import { ARRAY_BUFFER, ELEMENT_ARRAY_BUFFER, findBounds, type ModelEdit } from './model-edit.ts';

/**
 * Unpacks all geometry in Draco and meshopt into plain accessors, so that it can be changed. Leaves what cannot be unpacked.
 * `edit.unpacked` sums the bytes before and after.
 * @returns bytes of the unpacked geometry; 0 when nothing was compressed
 */
export async function unpackGeometry(edit: ModelEdit): Promise<number> {
  const { views = new Map(), arrays = new Map() } = await decodeGeometry({ json: edit.json, bin: edit.bin }, 'all');
  const before = edit.unpacked.after;
  unpackViews(edit, views);
  unpackDraco(edit, arrays);
  const bytes = edit.unpacked.after - before;
  if (bytes > 0) undeclare(edit);
  return bytes;
}

function unpackViews(edit: ModelEdit, views: ReadonlyMap<number, Buffer>): void {
  const { json } = edit;
  for (const [index, unpacked] of views) {
    const view = json.bufferViews![index]!;
    const { buffer, start, end } = storedRange(json, index);
    if (buffer === 0) edit.freedRanges.push({ start, end });
    edit.unpacked.before += end - start;
    edit.unpacked.after += unpacked.length;
    for (const name of MESHOPT) dropExtension(view, name);
    view.buffer = 0;
    delete view.byteOffset;
    view.byteLength = unpacked.length;
    edit.added.set(index, unpacked);
  }
  json.accessors?.forEach((accessor, index) => {
    const { bufferView, componentType, type, min, max } = accessor;
    if (componentType !== FLOAT || bufferView === undefined || !views.has(bufferView) || !(min || max)) return;
    // filters of meshopt round floats, and the stated bounds may be those of the exact values
    const values = readAccessor(edit.loaded, index);
    if (values) Object.assign(accessor, findBounds(values, TYPE_COMPONENTS[type]!));
  });
}

function unpackDraco(edit: ModelEdit, arrays: ReadonlyMap<number, Unpacked>): void {
  const { json } = edit;
  const primitives = (json.meshes ?? [])
    .flatMap((mesh) => mesh.primitives)
    .filter((primitive) => primitive.extensions?.[DRACO] && isWhole(json, primitive, arrays));
  const done = new Set<number>();
  for (const { attributes, indices, extensions } of primitives) {
    const packed = extensions![DRACO] as { attributes?: Record<string, number> };
    for (const name of Object.keys(packed.attributes ?? {})) {
      const accessor = attributes[name];
      if (accessor === undefined || done.has(accessor)) continue;
      done.add(accessor);
      place(edit, accessor, arrays.get(accessor)!, ARRAY_BUFFER);
    }
    if (indices === undefined || done.has(indices)) continue;
    done.add(indices);
    const vertices = json.accessors![attributes.POSITION!]?.count ?? Infinity;
    place(edit, indices, packIndices(arrays.get(indices) as Uint32Array, vertices), ELEMENT_ARRAY_BUFFER);
  }
  const packedViews = new Set(primitives.map(({ extensions }) => extensions![DRACO]!.bufferView as number));
  for (const view of packedViews) edit.unpacked.before += json.bufferViews![view]!.byteLength;
  for (const primitive of primitives) {
    dropExtension(primitive, DRACO);
    // Draco decodes to a list of triangles, whatever the mode was
    if (primitive.mode === TRIANGLE_STRIP) delete primitive.mode;
  }
}

/** Whether every attribute of a primitive is decoded from Draco or has a buffer view. */
function isWhole(json: GltfJson, primitive: PrimitiveJson, arrays: ReadonlyMap<number, Unpacked>): boolean {
  const { attributes, indices, extensions } = primitive;
  const packed = (extensions![DRACO] as { attributes?: Record<string, number> }).attributes ?? {};
  return (
    indices !== undefined &&
    arrays.has(indices) &&
    Object.entries(attributes).every(([name, accessor]) =>
      name in packed ? arrays.has(accessor) : json.accessors![accessor]!.bufferView !== undefined,
    )
  );
}

/** Gives an accessor a view with its decoded values. */
function place(edit: ModelEdit, index: number, values: Unpacked, target: number): void {
  const accessor = edit.json.accessors![index]!;
  const components = TYPE_COMPONENTS[accessor.type]!;
  accessor.bufferView = edit.addView(new Uint8Array(values.buffer, values.byteOffset, values.byteLength), { target });
  delete accessor.byteOffset;
  delete accessor.normalized;
  accessor.componentType = values instanceof Float32Array ? FLOAT : values instanceof Uint16Array ? 5123 : 5125;
  accessor.count = values.length / components;
  // Draco rounds values, and the stated bounds may be those of the exact values
  if (accessor.min || accessor.max) Object.assign(accessor, findBounds(values, components));
  edit.unpacked.after += values.byteLength;
}

const FLOAT = 5126;

function dropExtension(holder: { extensions?: Record<string, unknown> }, name: string): void {
  if (!holder.extensions) return;
  delete holder.extensions[name];
  if (Object.keys(holder.extensions).length === 0) delete holder.extensions;
}

/** Removes compression from the declared extensions once nothing is compressed. */
function undeclare({ json }: ModelEdit): void {
  const left = new Set([
    ...(json.bufferViews ?? []).flatMap((view) => Object.keys(view.extensions ?? {})),
    ...(json.meshes ?? []).flatMap((mesh) =>
      mesh.primitives.flatMap((primitive) => Object.keys(primitive.extensions ?? {})),
    ),
  ]);
  const gone = [DRACO, ...MESHOPT].filter((name) => !left.has(name));
  filterDeclared(json, (name) => !gone.includes(name as never));
}

/** Whether any of these meshes has geometry that must be unpacked before it can be changed. */
export function isCompressed(
  json: GltfJson,
  nodes: readonly { readonly mesh: number; readonly matrix?: unknown }[],
): boolean {
  return nodes.some(
    ({ mesh, matrix }) =>
      matrix !== null &&
      json.meshes![mesh]!.primitives.some(({ attributes, indices, targets = [], extensions }) => {
        const accessors = [indices, ...[attributes, ...targets].flatMap((set) => Object.values(set))];
        return (
          extensions?.[DRACO] !== undefined ||
          accessors.some((accessor) => {
            const view = json.bufferViews?.[json.accessors?.[accessor ?? -1]?.bufferView ?? -1];
            return MESHOPT.some((name) => view?.extensions?.[name]);
          })
        );
      }),
  );
}
