import { COMPONENT_BYTES, type GltfJson, MESHOPT, TYPE_COMPONENTS } from './json.ts';

/** A whole GLB in memory, for surveys; `bin` is buffer 0. */
export interface LoadedModel {
  readonly json: GltfJson;
  readonly bin: Buffer | null;
  /** Compressed buffer views, unpacked. */
  readonly views?: ReadonlyMap<number, Buffer>;
  /** Compressed accessors, unpacked: floats or indices. */
  readonly arrays?: ReadonlyMap<number, Unpacked>;
  /** JSON pointers of compressed geometry that cannot be unpacked; viewers then show nothing of the file. */
  readonly undecodable?: readonly string[];
  /** Converted values, so that each accessor is converted once. */
  readonly cache?: Map<number, Float32Array | Uint32Array | null>;
}

export type Unpacked = Float32Array | Uint32Array | Uint16Array;

/**
 * Reads an accessor as floats, with sparse values; normalised integers become 0–1 or ±1. Tightly packed single-precision
 * values are not copied, so callers must not change them.
 * @returns null if the bytes are compressed, in another buffer, or missing
 */
export function readAccessor(model: LoadedModel, index: number): Float32Array | null {
  return recall(model, index, convertAccessor) as Float32Array | null;
}

/** Most numbers of an accessor with only sparse values. Its zeros take memory, but no bytes in the file. */
const ZERO_LIMIT = 64_000_000;

function recall(
  model: LoadedModel,
  index: number,
  read: (model: LoadedModel, index: number) => Float32Array | Uint32Array | null,
  keptAs = 0,
): Float32Array | Uint32Array | null {
  const known = model.cache?.get(keptAs + index);
  if (known !== undefined) return known;
  const values = read(model, index);
  model.cache?.set(keptAs + index, values);
  return values;
}

function convertAccessor(model: LoadedModel, index: number): Float32Array | null {
  const { json } = model;
  const unpacked = model.arrays?.get(index);
  if (unpacked) return unpacked instanceof Float32Array ? unpacked : Float32Array.from(unpacked);
  const accessor = json.accessors![index]!;
  const components = TYPE_COMPONENTS[accessor.type]!;
  const { sparse } = accessor;
  if (accessor.bufferView === undefined && (!sparse || accessor.count * components > ZERO_LIMIT)) return null;
  const base =
    accessor.bufferView === undefined
      ? new Float32Array(accessor.count * components)
      : readElements(
          model,
          accessor.bufferView,
          accessor.byteOffset ?? 0,
          accessor.componentType,
          components,
          accessor.count,
          accessor.normalized,
        );
  if (!base || !sparse) return base;
  const values = base.slice();
  const at = readElements(
    model,
    sparse.indices.bufferView,
    sparse.indices.byteOffset ?? 0,
    sparse.indices.componentType,
    1,
    sparse.count,
  );
  const replacements = readElements(
    model,
    sparse.values.bufferView,
    sparse.values.byteOffset ?? 0,
    accessor.componentType,
    components,
    sparse.count,
    accessor.normalized,
  );
  if (!at || !replacements) return null;
  for (let i = 0; i < sparse.count; i++) {
    const target = at[i]! * components;
    if (target + components > values.length) continue;
    values.set(replacements.subarray(i * components, (i + 1) * components), target);
  }
  return values;
}

/** Reads an index accessor as whole numbers, which callers must not change; null as `readAccessor`. */
export function readIndices(model: LoadedModel, index: number): Uint32Array | null {
  return recall(model, index, convertIndices, AS_INDICES) as Uint32Array | null;
}

/** Added to an accessor's number in the cache for its values as indices, since one may be read both ways. */
const AS_INDICES = 2 ** 32;

function convertIndices(model: LoadedModel, index: number): Uint32Array | null {
  const { json } = model;
  const unpacked = model.arrays?.get(index);
  if (unpacked) return unpacked instanceof Uint32Array ? unpacked : null;
  const accessor = json.accessors![index]!;
  if (accessor.bufferView === undefined || accessor.sparse) return null;
  const view = findView(model, accessor.bufferView);
  if (!view) return null;
  const size = COMPONENT_BYTES[accessor.componentType]!;
  const stride = json.bufferViews![accessor.bufferView]!.byteStride ?? size;
  const start = view.byteOffset + (accessor.byteOffset ?? 0);
  if (stride === size && start % size === 0) {
    if (size === 4) return new Uint32Array(view.buffer, start, accessor.count);
    return Uint32Array.from(
      size === 2
        ? new Uint16Array(view.buffer, start, accessor.count)
        : new Uint8Array(view.buffer, start, accessor.count),
    );
  }
  const out = new Uint32Array(accessor.count);
  for (let i = 0, at = accessor.byteOffset ?? 0; i < out.length; i++, at += stride) {
    out[i] = size === 1 ? view.getUint8(at) : size === 2 ? view.getUint16(at, true) : view.getUint32(at, true);
  }
  return out;
}

function findView({ json, bin, views }: LoadedModel, index: number): DataView | null {
  const unpacked = views?.get(index);
  if (unpacked) return new DataView(unpacked.buffer, unpacked.byteOffset, unpacked.byteLength);
  const view = json.bufferViews![index]!;
  if (!bin || view.buffer !== 0 || MESHOPT.some((name) => view.extensions?.[name])) return null;
  return new DataView(bin.buffer, bin.byteOffset + (view.byteOffset ?? 0), view.byteLength);
}

function readElements(
  model: LoadedModel,
  viewIndex: number,
  offset: number,
  componentType: number,
  components: number,
  count: number,
  normalised = false,
): Float32Array | null {
  const view = findView(model, viewIndex);
  if (!view) return null;
  const size = COMPONENT_BYTES[componentType]!;
  const stride = model.json.bufferViews![viewIndex]!.byteStride ?? size * components;
  const start = view.byteOffset + offset;
  if (componentType === FLOAT && stride === size * components && start % size === 0) {
    return new Float32Array(view.buffer, start, count * components);
  }
  if (componentType === FLOAT && stride % size === 0 && start % size === 0) {
    return gather(view, start, stride / size, components, count);
  }
  const get = getter(view, componentType);
  const scale = normalised ? SCALE[componentType]! : 1;
  const out = new Float32Array(count * components);
  for (let i = 0; i < count; i++) {
    for (let c = 0; c < components; c++) {
      const value = get(offset + i * stride + c * size) * scale;
      out[i * components + c] = normalised && value < -1 ? -1 : value;
    }
  }
  return out;
}

/** Copies interleaved floats: one element every `stride` floats. */
function gather(view: DataView, start: number, stride: number, components: number, count: number): Float32Array {
  const out = new Float32Array(count * components);
  if (count === 0) return out;
  const source = new Float32Array(view.buffer, start, (count - 1) * stride + components);
  for (let i = 0, from = 0, to = 0; i < count; i++, from += stride) {
    for (let c = 0; c < components; c++) out[to++] = source[from + c]!;
  }
  return out;
}

const FLOAT = 5126;

const SCALE: Readonly<Record<number, number>> = {
  5120: 1 / 127,
  5121: 1 / 255,
  5122: 1 / 32767,
  5123: 1 / 65535,
  5125: 1,
  5126: 1,
};

function getter(view: DataView, componentType: number): (at: number) => number {
  switch (componentType) {
    case 5120:
      return (at) => view.getInt8(at);
    case 5121:
      return (at) => view.getUint8(at);
    case 5122:
      return (at) => view.getInt16(at, true);
    case 5123:
      return (at) => view.getUint16(at, true);
    case 5125:
      return (at) => view.getUint32(at, true);
    default:
      return (at) => view.getFloat32(at, true);
  }
}
