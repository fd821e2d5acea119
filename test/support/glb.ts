import { createHash } from 'node:crypto';
import type { AccessorJson, GltfJson } from '../../server/gltf/document/json.ts';

/**
 * A GLB split and joined by the tests' own reading of glTF 2.0 §4.4 (GLB), so that checking a written file needs none
 * of the code under test.
 */
export interface Glb {
  readonly json: GltfJson;
  readonly bin: Buffer;
}

const MAGIC = 0x46546c67;
const JSON_TYPE = 0x4e4f534a;
const BIN_TYPE = 0x004e4942;

export function readGlb(bytes: Uint8Array): Glb {
  const file = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (file.readUInt32LE(0) !== MAGIC || file.readUInt32LE(8) !== file.length) throw new Error('not a whole GLB');
  const jsonLength = file.readUInt32LE(12);
  const json = JSON.parse(file.toString('utf8', 20, 20 + jsonLength)) as GltfJson;
  const at = 20 + jsonLength;
  if (at % 4 !== 0 || file.length % 4 !== 0) throw new Error('chunks are not aligned to four bytes');
  const bin = at < file.length ? file.subarray(at + 8, at + 8 + file.readUInt32LE(at)) : Buffer.alloc(0);
  return { json, bin };
}

export function makeGlb(json: unknown, bin: Uint8Array | null = null): Buffer {
  return makeRawGlb(Buffer.from(typeof json === 'string' ? json : JSON.stringify(json)), bin);
}

function makeRawGlb(text: Buffer, bin: Uint8Array | null): Buffer {
  const chunks = [chunk(JSON_TYPE, text, 0x20), ...(bin ? [chunk(BIN_TYPE, bin, 0)] : [])];
  const head = Buffer.alloc(12);
  head.writeUInt32LE(MAGIC, 0);
  head.writeUInt32LE(2, 4);
  head.writeUInt32LE(12 + chunks.reduce((sum, part) => sum + part.length, 0), 8);
  return Buffer.concat([head, ...chunks]);
}

function chunk(type: number, data: Uint8Array, padding: number): Buffer {
  const padded = Math.ceil(data.length / 4) * 4;
  const bytes = Buffer.alloc(8 + padded, padding);
  bytes.writeUInt32LE(padded, 0);
  bytes.writeUInt32LE(type, 4);
  bytes.set(data, 8);
  return bytes;
}

/** Changes the JSON of a GLB by hand; the BIN chunk stays. */
export function editGlb(bytes: Uint8Array, edit: (json: GltfJson) => void): Buffer {
  const { json, bin } = readGlb(bytes);
  edit(json);
  return makeGlb(json, bin.length > 0 ? bin : null);
}

/** A run of bytes that geometry, animation or a skin reads: its place, and the SHA-256 of its content. */
interface ReadRange {
  readonly what: string;
  readonly buffer: number;
  readonly offset: number;
  readonly sha256: string;
}

const COMPONENT: Record<number, number> = { 5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4 };
const COMPONENTS: Record<string, number> = { SCALAR: 1, VEC2: 2, VEC3: 3, VEC4: 4, MAT2: 4, MAT3: 9, MAT4: 16 };
const MESHOPT = ['EXT_meshopt_compression', 'KHR_meshopt_compression'];

/**
 * Every range that an accessor (including its sparse parts), a meshopt view or a Draco primitive reads, by glTF 2.0
 * §3.6.2 and the texts of the two extensions.
 */
export function listReadRanges({ json, bin }: Glb): ReadRange[] {
  const ranges: ReadRange[] = [];
  const add = (what: string, buffer: number, offset: number, length: number) => {
    ranges.push({
      what,
      buffer,
      offset,
      sha256: sha256(readBuffer(json, bin, buffer).subarray(offset, offset + length)),
    });
  };
  json.accessors?.forEach((accessor, i) => {
    if (accessor.bufferView !== undefined) {
      const view = json.bufferViews![accessor.bufferView]!;
      const compressed = MESHOPT.some((name) => view.extensions?.[name]);
      if (!compressed) {
        const offset = (view.byteOffset ?? 0) + (accessor.byteOffset ?? 0);
        add(`accessor ${i}`, view.buffer, offset, spanOf(accessor, view.byteStride));
      }
    }
    for (const part of ['indices', 'values'] as const) {
      const sparse = accessor.sparse?.[part];
      if (!sparse) continue;
      const view = json.bufferViews![sparse.bufferView]!;
      const item = part === 'indices' ? COMPONENT[accessor.sparse!.indices.componentType]! : itemBytes(accessor);
      const offset = (view.byteOffset ?? 0) + (sparse.byteOffset ?? 0);
      add(`accessor ${i} sparse ${part}`, view.buffer, offset, accessor.sparse!.count * item);
    }
  });
  json.bufferViews?.forEach((view, i) => {
    for (const name of MESHOPT) {
      const compressed = view.extensions?.[name] as
        | { buffer: number; byteOffset?: number; byteLength: number }
        | undefined;
      if (compressed) add(`view ${i} ${name}`, compressed.buffer, compressed.byteOffset ?? 0, compressed.byteLength);
    }
  });
  json.meshes?.forEach((mesh, m) => {
    mesh.primitives.forEach((primitive, p) => {
      const index = primitive.extensions?.KHR_draco_mesh_compression?.bufferView;
      if (typeof index !== 'number') return;
      const view = json.bufferViews![index]!;
      add(`draco ${m}/${p}`, view.buffer, view.byteOffset ?? 0, view.byteLength);
    });
  });
  return ranges;
}

function itemBytes(accessor: AccessorJson): number {
  return COMPONENT[accessor.componentType]! * COMPONENTS[accessor.type]!;
}

function spanOf(accessor: AccessorJson, stride: number | undefined): number {
  if (accessor.count === 0) return 0;
  return (stride ?? itemBytes(accessor)) * (accessor.count - 1) + itemBytes(accessor);
}

/** Bytes of image `index`; null when it has none. */
export function readImage({ json, bin }: Glb, index: number): Buffer | null {
  const image = json.images?.[index];
  if (!image) return null;
  if (image.uri !== undefined) return fromDataUri(image.uri);
  if (image.bufferView === undefined) return null;
  const { buffer, byteOffset = 0, byteLength } = json.bufferViews![image.bufferView]!;
  return readBuffer(json, bin, buffer).subarray(byteOffset, byteOffset + byteLength);
}

function readBuffer(json: GltfJson, bin: Buffer, buffer: number): Buffer {
  const uri = json.buffers?.[buffer]?.uri;
  return uri === undefined ? bin : fromDataUri(uri);
}

function fromDataUri(uri: string): Buffer {
  return Buffer.from(uri.slice(uri.indexOf(',') + 1), 'base64');
}

export function sha256(bytes: Uint8Array): string {
  return createHash('sha256').update(bytes).digest('hex');
}

/** Indices of every texture that a material refers to, including its extensions. */
export function texturesOf(material: unknown): number[] {
  if (typeof material !== 'object' || material === null) return [];
  return Object.entries(material).flatMap(([key, value]) => {
    const index = (value as { index?: unknown } | null)?.index;
    return [...(key.endsWith('Texture') && typeof index === 'number' ? [index] : []), ...texturesOf(value)];
  });
}

/**
 * The mappings of a primitive, and the material of each variant by KHR_materials_variants; the primitive's own where no
 * mapping names one.
 */
export function materialsByVariant({ json }: Glb, mesh: number, primitive: number): (number | undefined)[] {
  const { material, extensions } = json.meshes![mesh]!.primitives[primitive]!;
  const variants = (json.extensions?.KHR_materials_variants?.variants ?? []) as unknown[];
  const mappings = (extensions?.KHR_materials_variants?.mappings ?? []) as { material: number; variants: number[] }[];
  return variants.map((_, index) => mappings.find((mapping) => mapping.variants.includes(index))?.material ?? material);
}

export function variantNames({ json }: Glb): string[] {
  const variants = (json.extensions?.KHR_materials_variants?.variants ?? []) as { name: string }[];
  return variants.map(({ name }) => name);
}
