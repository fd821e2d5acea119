import { MeshoptEncoder } from 'meshoptimizer';
import type { GeometryForm } from '../../core/delivery/compressed-form.ts';
import { COMPONENT_BYTES, type GltfJson, TYPE_COMPONENTS } from '../document/json.ts';
import { type LoadedModel, readAccessor, readIndices } from '../document/read-accessor.ts';
import { type AccessorUse, isFloat, listAccessorUses } from './accessor-uses.ts';
import { planPositions } from './plan-positions.ts';
import type { ViewEdit } from './view-edit.ts';

const ARRAY_BUFFER = 34962;
const ELEMENT_ARRAY_BUFFER = 34963;
const SHORT = 5122;
const UNSIGNED_SHORT = 5123;

/** Steps of a texture coordinate in an image: half a step is a sixteenth of a texel of 1024 px. */
const UV_STEPS = 8192;
/** Bits of a position: of a part of 1 m, a step is 0.02 mm. */
const POSITION_BITS = 16;
/** Bits of each component of a normal: half a step is 0.02°. */
const NORMAL_BITS = 12;

/**
 * Quantises attributes (`KHR_mesh_quantization`), or compresses them with meshopt (`EXT_meshopt_compression`). Vertices and
 * triangles keep their order. With meshopt, positions and texture coordinates stay floats with fewer digits, so that no node
 * changes. Otherwise positions become 16-bit integers where a node can carry their scale.
 * @returns the number of meshes whose positions stay as they are
 */
export async function packGeometry(
  edit: ViewEdit,
  source: LoadedModel,
  form: Exclude<GeometryForm, 'draco'>,
): Promise<number> {
  const { json } = edit;
  await MeshoptEncoder.ready;
  const uses = listAccessorUses(json);
  const plan = form === 'quantised' ? planPositions(json, source, uses) : null;
  let needsQuantization = false;
  for (const [index, use] of uses) {
    if (use === 'kept') continue;
    const accessor = json.accessors![index]!;
    const before = accessor.componentType;
    if (form === 'quantised') quantise(edit, source, index, use, plan!.steps);
    else pack(edit, source, index, use);
    if (use !== 'indices' && use !== 'attribute' && accessor.componentType !== before) needsQuantization = true;
  }
  plan?.place();
  if (needsQuantization) declare(json, 'KHR_mesh_quantization');
  if (form === 'meshopt') declare(json, 'EXT_meshopt_compression');
  return plan?.keptMeshes ?? 0;
}

function declare(json: GltfJson, name: string): void {
  for (const key of ['extensionsUsed', 'extensionsRequired'] as const) {
    if (!json[key]?.includes(name)) json[key] = [...(json[key] ?? []), name];
  }
}

/** Integers of 16 bits: normals and tangents −1 to 1, texture coordinates 0 to 1 or −1 to 1 where they fit. */
function quantise(
  edit: ViewEdit,
  source: LoadedModel,
  index: number,
  use: AccessorUse,
  steps: ReadonlyMap<number, { readonly offset: readonly number[]; readonly scale: number }>,
): void {
  const accessor = edit.json.accessors![index]!;
  if (!isFloat(edit.json, index)) return;
  const values = readAccessor(source, index);
  if (!values) return;
  const components = TYPE_COMPONENTS[accessor.type]!;
  if (use === 'position') {
    const step = steps.get(index);
    if (!step) return;
    const placed = values.map((value, i) => (value - step.offset[i % 3]!) / step.scale);
    replace(edit, index, toIntegers(placed, components, SHORT), SHORT, components);
    Object.assign(accessor, boundsOf(toIntegers(placed, components, SHORT), 4, 3));
    return;
  }
  if (use === 'normal' || use === 'tangent') {
    replace(edit, index, toIntegers(values, components, SHORT), SHORT, components);
  } else if (use === 'uv') {
    let [low, high] = [0, 0];
    for (const value of values) [low, high] = [Math.min(low, value), Math.max(high, value)];
    if (high > 1 || low < -1 || !Number.isFinite(low + high)) return;
    const type = low < 0 ? SHORT : UNSIGNED_SHORT;
    replace(edit, index, toIntegers(values, components, type), type, components);
  }
}

/** Normalised integers, each element padded to four bytes. */
function toIntegers(values: Float32Array, components: number, type: number): Int16Array | Uint16Array {
  const stride = components === 3 ? 4 : components;
  const count = values.length / components;
  const out = type === SHORT ? new Int16Array(count * stride) : new Uint16Array(count * stride);
  const most = type === SHORT ? 32767 : 65535;
  for (let i = 0; i < count; i++) {
    for (let c = 0; c < components; c++) out[i * stride + c] = Math.round((values[i * components + c] || 0) * most);
  }
  return out;
}

function replace(
  edit: ViewEdit,
  index: number,
  list: Int16Array | Uint16Array,
  type: number,
  components: number,
): void {
  const accessor = edit.json.accessors![index]!;
  const byteStride = (components === 3 ? 4 : components) * 2;
  const bytes = new Uint8Array(list.buffer, list.byteOffset, list.byteLength);
  accessor.bufferView = edit.addView(bytes, { target: ARRAY_BUFFER, byteStride });
  accessor.componentType = type;
  accessor.normalized = true;
  delete accessor.byteOffset;
  if (accessor.min || accessor.max) Object.assign(accessor, boundsOf(list, byteStride / 2, components));
}

function boundsOf(values: Float32Array | Int16Array | Uint16Array, stride: number, components: number) {
  const min = new Array<number>(components).fill(Infinity);
  const max = new Array<number>(components).fill(-Infinity);
  for (let i = 0; i < values.length; i += stride) {
    for (let c = 0; c < components; c++) {
      min[c] = Math.min(min[c]!, values[i + c]!);
      max[c] = Math.max(max[c]!, values[i + c]!);
    }
  }
  return { min, max };
}

function pack(edit: ViewEdit, source: LoadedModel, index: number, use: AccessorUse): void {
  const { json } = edit;
  const accessor = json.accessors![index]!;
  if (use === 'indices') {
    packIndices(edit, source, index);
    return;
  }
  const components = TYPE_COMPONENTS[accessor.type]!;
  const values = isFloat(json, index) ? readAccessor(source, index) : null;
  const { count } = accessor;
  if (values && (use === 'position' || use === 'uv')) {
    const bits = use === 'position' ? POSITION_BITS : chooseUvBits(values);
    const filtered = MeshoptEncoder.encodeFilterExp(values, count, components * 4, bits, 'SharedComponent');
    addPacked(edit, index, filtered, components * 4, 'EXPONENTIAL');
    const rounded = new Float32Array(count * components);
    decodeExponential(filtered, rounded);
    if (accessor.min || accessor.max) Object.assign(accessor, boundsOf(rounded, components, components));
    return;
  }
  if (values && (use === 'normal' || use === 'tangent')) {
    const four = toFour(values, components);
    const filtered = MeshoptEncoder.encodeFilterOct(four, count, 8, NORMAL_BITS);
    accessor.componentType = SHORT;
    accessor.normalized = true;
    delete accessor.min;
    delete accessor.max;
    addPacked(edit, index, filtered, 8, 'OCTAHEDRAL');
    return;
  }
  const bytes = readTight(source, index);
  if (bytes) addPacked(edit, index, bytes.bytes, bytes.stride, undefined);
}

/** A float keeps so many bits that a step is at most `1 / UV_STEPS` of an image. */
function chooseUvBits(values: Float32Array): number {
  let most = 1;
  for (const value of values) if (Math.abs(value) > most && value < Infinity) most = Math.abs(value);
  return Math.min(24, Math.max(12, Math.ceil(Math.log2(most * UV_STEPS)) + 2));
}

/** The filter packs three numbers and a sign, which is the fourth. */
function toFour(values: Float32Array, components: number): Float32Array {
  const out = new Float32Array((values.length / components) * 4);
  for (let i = 0, to = 0; i < values.length; i += components, to += 4) {
    const [x, y, z] = [values[i] || 0, values[i + 1] || 0, values[i + 2] || 0];
    const length = Math.hypot(x, y, z);
    out[to] = length > 0 ? x / length : 0;
    out[to + 1] = length > 0 ? y / length : 0;
    out[to + 2] = length > 0 ? z / length : 1;
    out[to + 3] = components === 4 ? values[i + 3]! : 1;
  }
  return out;
}

/** As the extension decodes it: a signed exponent of 8 bits over a mantissa of 24. */
function decodeExponential(filtered: Uint8Array, to: Float32Array): void {
  const words = new Int32Array(filtered.buffer, filtered.byteOffset, to.length);
  for (let i = 0; i < to.length; i++) to[i] = 2 ** (words[i]! >> 24) * ((words[i]! << 8) >> 8);
}

function addPacked(
  edit: ViewEdit,
  index: number,
  filtered: Uint8Array,
  byteStride: number,
  filter: 'OCTAHEDRAL' | 'EXPONENTIAL' | undefined,
): void {
  const accessor = edit.json.accessors![index]!;
  const { count } = accessor;
  const bytes = MeshoptEncoder.encodeGltfBuffer(filtered, count, byteStride, 'ATTRIBUTES', 0);
  const packed = { byteStride, count, mode: 'ATTRIBUTES' as const, bytes, ...(filter && { filter }) };
  accessor.bufferView = edit.addMeshoptView(packed, { target: ARRAY_BUFFER });
  delete accessor.byteOffset;
}

function packIndices(edit: ViewEdit, source: LoadedModel, index: number): void {
  const accessor = edit.json.accessors![index]!;
  const indices = readIndices(source, index);
  if (!indices || indices.length % 3 !== 0) return;
  // the codec knows 16 and 32 bits
  const small = accessor.componentType !== 5125;
  const list = small ? Uint16Array.from(indices) : indices.slice();
  const size = list.BYTES_PER_ELEMENT;
  const bytes = MeshoptEncoder.encodeGltfBuffer(
    new Uint8Array(list.buffer, list.byteOffset, list.byteLength),
    list.length,
    size,
    'TRIANGLES',
    0,
  );
  accessor.bufferView = edit.addMeshoptView(
    { byteStride: size, count: list.length, mode: 'TRIANGLES', bytes },
    { target: ELEMENT_ARRAY_BUFFER },
  );
  accessor.componentType = small ? UNSIGNED_SHORT : 5125;
  delete accessor.byteOffset;
}

/** The bytes of an accessor without gaps, each element padded to four bytes. */
function readTight({ json, bin, views }: LoadedModel, index: number): { bytes: Uint8Array; stride: number } | null {
  const { bufferView, byteOffset = 0, componentType, type, count } = json.accessors![index]!;
  const view = json.bufferViews![bufferView!]!;
  const own = views?.get(bufferView!);
  const data = own ?? bin?.subarray(view.byteOffset ?? 0, (view.byteOffset ?? 0) + view.byteLength);
  const size = COMPONENT_BYTES[componentType]! * TYPE_COMPONENTS[type]!;
  // columns of small matrices are padded, which no vertex attribute has
  if (!data || type.startsWith('MAT')) return null;
  const from = view.byteStride ?? size;
  const stride = Math.ceil(size / 4) * 4;
  const bytes = new Uint8Array(count * stride);
  for (let i = 0; i < count; i++) {
    const at = byteOffset + i * from;
    bytes.set(data.subarray(at, at + size), i * stride);
  }
  return { bytes, stride };
}
