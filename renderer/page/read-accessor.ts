import { BufferAttribute, type TypedArray } from 'three';
import { loadMeshopt, type MeshoptLoader } from './decoder-workers.ts';
import { asIndex, asObject, asText, FileFault, type GltfDocument, getExtension, type Json } from './gltf-document.ts';

/** Reads accessors of a model during loading: plain, interleaved, sparse, and packed by meshopt. */
export interface AccessorReader {
  /** Numbers of an accessor, tightly packed; all callers share the array. @throws FileFault */
  read(accessor: unknown): Promise<BufferAttribute>;
}

const COMPONENTS = {
  5120: Int8Array,
  5121: Uint8Array,
  5122: Int16Array,
  5123: Uint16Array,
  5125: Uint32Array,
  5126: Float32Array,
} as const;

export function isComponentType(value: unknown): value is keyof typeof COMPONENTS {
  return typeof value === 'number' && value in COMPONENTS;
}

/** Numbers of an element. */
const SIZES: Readonly<Record<string, number>> = { SCALAR: 1, VEC2: 2, VEC3: 3, VEC4: 4, MAT4: 16 };

/**
 * Most elements of an accessor without bytes, and of a packed view. Without a limit, a few words of JSON could demand
 * any number.
 */
const MAX_ELEMENTS = 2 ** 26;

const MESHOPT = ['EXT_meshopt_compression', 'KHR_meshopt_compression'];

export function createAccessorReader(document: GltfDocument, load: MeshoptLoader = loadMeshopt): AccessorReader {
  const attributes = new Map<number, Promise<BufferAttribute>>();
  // Several accessors share one packed view.
  const unpacked = new Map<number, Promise<Uint8Array>>();

  function readView(index: unknown): Promise<Uint8Array> {
    const at = asIndex(index) ?? -1;
    const view = document.list('bufferViews')[at];
    const packing = view && MESHOPT.map((name) => getExtension(view, name)).find((found) => found);
    if (!packing) return document.readView(index);
    let bytes = unpacked.get(at);
    if (!bytes) {
      bytes = unpack(packing);
      unpacked.set(at, bytes);
    }
    return bytes;
  }

  async function unpack({
    buffer,
    byteOffset,
    byteLength,
    byteStride,
    count,
    mode,
    filter,
  }: Json): Promise<Uint8Array> {
    const packed = await document.readBuffer(buffer, byteOffset, byteLength);
    const [stride, length] = [asIndex(byteStride) ?? 0, asIndex(count) ?? 0];
    if (stride < 1 || stride > 256 || length < 1 || length > MAX_ELEMENTS) {
      throw new FileFault('A buffer view compressed with meshopt does not give its size.');
    }
    try {
      const { MeshoptDecoder } = await load();
      return await MeshoptDecoder.decodeGltfBufferAsync(length, stride, packed, asText(mode), asText(filter) || 'NONE');
    } catch {
      throw new FileFault('A buffer view compressed with meshopt cannot be decoded.');
    }
  }

  /** Elements of a view, `stride` bytes apart, packed tightly. */
  async function gather(view: unknown, byteOffset: unknown, stride: number, shape: Shape): Promise<TypedArray> {
    const { Kind, size, count } = shape;
    const bytes = await readView(view);
    const from = asIndex(byteOffset ?? 0) ?? Number.NaN;
    const element = Kind.BYTES_PER_ELEMENT * size;
    const step = stride || element;
    if (!(from + (count - 1) * step + element <= bytes.length))
      throw new FileFault('A buffer view ends before one of its accessors.');
    // A copy is aligned for any type of number.
    if (step === element) return new Kind(bytes.slice(from, from + count * element).buffer);
    const packed = new Uint8Array(count * element);
    for (let index = 0; index < count; index++) {
      for (let byte = 0; byte < element; byte++) packed[index * element + byte] = bytes[from + index * step + byte]!;
    }
    return new Kind(packed.buffer);
  }

  async function overlay(sparse: Json, array: TypedArray, { Kind, size, count }: Shape): Promise<void> {
    const [places, values] = [asObject(sparse.indices), asObject(sparse.values)];
    const length = asIndex(sparse.count) ?? -1;
    if (length < 1 || !isComponentType(places.componentType)) {
      throw new FileFault('A sparse accessor does not state what it replaces.');
    }
    const Places = COMPONENTS[places.componentType];
    const at = await gather(places.bufferView, places.byteOffset, 0, { Kind: Places, size: 1, count: length });
    const by = await gather(values.bufferView, values.byteOffset, 0, { Kind, size, count: length });
    at.forEach((place: number, index: number) => {
      if (place < count) array.set(by.subarray(index * size, (index + 1) * size), place * size);
    });
  }

  async function readAccessor(index: number): Promise<BufferAttribute> {
    const json = document.list('accessors')[index] ?? {};
    const size = SIZES[asText(json.type)];
    const count = asIndex(json.count) ?? 0;
    if (!isComponentType(json.componentType) || !size || count < 1)
      throw new FileFault(`Accessor ${index} does not state its type.`);
    const shape = { Kind: COMPONENTS[json.componentType], size, count };
    let array: TypedArray;
    if (json.bufferView === undefined) {
      if (count * size > MAX_ELEMENTS) throw new FileFault(`Accessor ${index} has too many elements.`);
      array = new shape.Kind(count * size);
    } else {
      const stride = asIndex(document.list('bufferViews')[asIndex(json.bufferView) ?? -1]?.byteStride) ?? 0;
      array = await gather(json.bufferView, json.byteOffset, stride, shape);
    }
    if (json.sparse !== undefined) await overlay(asObject(json.sparse), array, shape);
    return new BufferAttribute(array, size, json.normalized === true);
  }

  return {
    read(accessor) {
      const index = asIndex(accessor) ?? -1;
      let attribute = attributes.get(index);
      if (!attribute) {
        attribute = readAccessor(index);
        attributes.set(index, attribute);
      }
      return attribute;
    },
  };
}

interface Shape {
  readonly Kind: (typeof COMPONENTS)[keyof typeof COMPONENTS];
  /** Numbers of an element. */
  readonly size: number;
  readonly count: number;
}
