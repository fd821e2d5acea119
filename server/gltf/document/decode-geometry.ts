import { type AccessorJson, type BufferViewJson, DRACO, type GltfJson, MESHOPT, type PrimitiveJson } from './json.ts';
import type { LoadedModel, Unpacked } from './read-accessor.ts';

/** Attributes of a primitive that a survey reads, in addition to the positions of morph targets. */
const READ = ['POSITION', 'NORMAL', 'TEXCOORD_0', 'TEXCOORD_1', 'JOINTS_0', 'WEIGHTS_0'] as const;

/** Most damaged places that are counted, since the decoder is created again after each. */
const COUNTED = 20;

/** `survey`: what a survey reads; `all`: every attribute, for repairs that change geometry. */
export type Reach = 'survey' | 'all';

/**
 * Unpacks compressed geometry: meshopt views and attributes of Draco primitives. The decoders are loaded only for models
 * that need them. Everything that viewers unpack is unpacked once, to check that it can be; damaged geometry is left out and
 * listed in `undecodable`.
 */
export async function decodeGeometry(model: LoadedModel, reach: Reach = 'survey'): Promise<LoadedModel> {
  const undecodable: string[] = [];
  const views = await decodeMeshopt(model, reach, undecodable);
  const arrays = await decodeDraco(model, reach, undecodable);
  return { ...model, views, arrays, undecodable };
}

async function decodeMeshopt(
  { json, bin }: LoadedModel,
  reach: Reach,
  undecodable: string[],
): Promise<Map<number, Buffer>> {
  const decoded = new Map<number, Buffer>();
  const primitives = (json.meshes ?? []).flatMap((mesh) => mesh.primitives);
  const kept = new Set([...primitives.flatMap((primitive) => listViews(json, primitive)), ...listBindViews(json)]);
  const read = new Set((json.accessors ?? []).map(({ bufferView }) => bufferView));
  const compressed = (json.bufferViews ?? []).flatMap((view, index) => {
    const extension = reach === 'all' || read.has(index) ? findMeshopt(view) : null;
    return extension ? [{ index, extension }] : [];
  });
  if (compressed.length === 0 || !bin) return decoded;
  const { MeshoptDecoder } = await import('meshoptimizer');
  await MeshoptDecoder.ready;
  for (const { index, extension } of compressed) {
    const { buffer, byteOffset = 0, byteLength, byteStride, count, mode, filter } = extension;
    if (buffer !== 0) continue;
    try {
      // a damaged count may need any amount of memory
      if (!(byteStride * count <= json.bufferViews![index]!.byteLength))
        throw new RangeError('more than its view holds');
      const target = Buffer.alloc(byteStride * count);
      const source = bin.subarray(byteOffset, byteOffset + byteLength);
      MeshoptDecoder.decodeGltfBuffer(target, count, byteStride, source, mode, filter ?? 'NONE');
      if (reach === 'all' || kept.has(index)) decoded.set(index, target);
    } catch {
      undecodable.push(`/bufferViews/${index}`);
    }
  }
  return decoded;
}

interface MeshoptView {
  buffer: number;
  byteOffset?: number;
  byteLength: number;
  byteStride: number;
  count: number;
  mode: string;
  filter?: string;
}

function findMeshopt({ extensions }: BufferViewJson): MeshoptView | null {
  const name = MESHOPT.find((candidate) => extensions?.[candidate]);
  return name ? (extensions![name] as unknown as MeshoptView) : null;
}

function listViews(json: GltfJson, primitive: PrimitiveJson): number[] {
  const moves = (primitive.targets ?? []).map(({ POSITION }) => POSITION);
  const accessors = [...READ.map((name) => primitive.attributes[name]), ...moves, primitive.indices];
  return accessors.flatMap((accessor) => (accessor === undefined ? [] : (json.accessors![accessor]!.bufferView ?? [])));
}

/** Views of inverse bind matrices. */
function listBindViews({ skins = [], accessors = [] }: GltfJson): number[] {
  return skins.flatMap(({ inverseBindMatrices }) => accessors[inverseBindMatrices ?? -1]?.bufferView ?? []);
}

async function decodeDraco(
  { json, bin }: LoadedModel,
  reach: Reach,
  undecodable: string[],
): Promise<LoadedModel['arrays']> {
  const arrays = new Map<number, Unpacked>();
  const compressed = (json.meshes ?? []).flatMap(({ primitives }, mesh) =>
    primitives.flatMap((primitive, index) =>
      primitive.extensions?.[DRACO] ? [{ primitive, where: `/meshes/${mesh}/primitives/${index}` }] : [],
    ),
  );
  if (compressed.length === 0 || !bin) return arrays;
  const { default: draco3d } = await import('draco3dgltf');
  let draco: Draco = await draco3d.createDecoderModule();
  for (const { primitive, where } of compressed) {
    const extension = primitive.extensions![DRACO] as unknown as {
      bufferView: number;
      attributes: Record<string, number>;
    };
    const view = json.bufferViews![extension.bufferView]!;
    if (view.buffer !== 0) continue;
    const start = view.byteOffset ?? 0;
    try {
      readDracoMesh(
        draco,
        bin.subarray(start, start + view.byteLength),
        primitive,
        json.accessors!,
        extension.attributes,
        reach,
        arrays,
      );
    } catch {
      undecodable.push(where);
      // a single one is enough to refuse the file
      if (undecodable.length >= COUNTED) break;
      // the failure may have left the decoder in any state
      draco = await draco3d.createDecoderModule();
    }
  }
  return arrays;
}

// biome-ignore lint/suspicious/noExplicitAny: the decoder comes without types
type Draco = any;

function readDracoMesh(
  draco: Draco,
  bytes: Buffer,
  primitive: PrimitiveJson,
  accessors: readonly AccessorJson[],
  attributes: Readonly<Record<string, number>>,
  reach: Reach,
  arrays: Map<number, Unpacked>,
): void {
  const buffer = new draco.DecoderBuffer();
  const decoder = new draco.Decoder();
  const mesh = new draco.Mesh();
  try {
    buffer.Init(new Int8Array(bytes.buffer, bytes.byteOffset, bytes.byteLength), bytes.byteLength);
    const status = decoder.DecodeBufferToMesh(buffer, mesh);
    if (!status.ok()) throw new Error(status.error_msg());
    for (const id of Object.values(attributes)) {
      if (draco.getPointer(decoder.GetAttributeByUniqueId(mesh, id)) === 0) throw new Error(`no attribute ${id}`);
    }
    for (const name of reach === 'all' ? Object.keys(primitive.attributes) : READ) {
      const id = attributes[name];
      const accessor = primitive.attributes[name];
      if (id === undefined || accessor === undefined) continue;
      const attribute = decoder.GetAttributeByUniqueId(mesh, id);
      const { normalized, componentType } = accessors[accessor]!;
      // joints are whole numbers, all else is read as floats
      if (name.startsWith('JOINTS_')) arrays.set(accessor, readDracoValues(draco, decoder, mesh, attribute, UINT16));
      else arrays.set(accessor, readDracoFloats(draco, decoder, mesh, attribute, normalized ? componentType : FLOAT));
    }
    if (primitive.indices !== undefined) {
      const bytesNeeded = mesh.num_faces() * 12;
      const at = draco._malloc(bytesNeeded);
      decoder.GetTrianglesUInt32Array(mesh, bytesNeeded, at);
      arrays.set(primitive.indices, new Uint32Array(draco.HEAPU32.buffer, at, bytesNeeded / 4).slice());
      draco._free(at);
    }
  } finally {
    draco.destroy(mesh);
    draco.destroy(decoder);
    draco.destroy(buffer);
  }
}

const UINT16 = 5123;
const FLOAT = 5126;

/** Normalised integers become 0–1 or ±1 (glTF 2.0 §3.6.2.2), whether or not the encoder marked them in Draco. */
function readDracoFloats(draco: Draco, decoder: Draco, mesh: Draco, attribute: Draco, type: number): Float32Array {
  const values = readDracoValues(draco, decoder, mesh, attribute, type);
  if (values instanceof Float32Array) return values;
  const scale = NORMALISED[type]!;
  return Float32Array.from(values, (value) => Math.max(-1, value * scale));
}

const NORMALISED: Readonly<Record<number, number>> = { 5120: 1 / 127, 5121: 1 / 255, 5122: 1 / 32767, 5123: 1 / 65535 };

/** Values of an attribute for all points, in the given component type of glTF. */
function readDracoValues<T extends number>(
  draco: Draco,
  decoder: Draco,
  mesh: Draco,
  attribute: Draco,
  type: T,
): T extends typeof UINT16 ? Uint16Array : Float32Array | Int8Array | Uint8Array | Int16Array | Uint16Array;
function readDracoValues(draco: Draco, decoder: Draco, mesh: Draco, attribute: Draco, type: number) {
  const [code, List] = {
    5120: [draco.DT_INT8, Int8Array] as const,
    5121: [draco.DT_UINT8, Uint8Array] as const,
    5122: [draco.DT_INT16, Int16Array] as const,
    5123: [draco.DT_UINT16, Uint16Array] as const,
  }[type] ?? [draco.DT_FLOAT32, Float32Array];
  const count = mesh.num_points() * attribute.num_components();
  const at = draco._malloc(count * List.BYTES_PER_ELEMENT);
  decoder.GetAttributeDataArrayForAllPoints(mesh, attribute, code, count * List.BYTES_PER_ELEMENT, at);
  const values = new List(draco.HEAPU8.buffer, at, count).slice();
  draco._free(at);
  return values;
}
