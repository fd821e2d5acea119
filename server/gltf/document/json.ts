import type { NodeGroup } from '../../core/product/survey.ts';

/** The parts of a glTF 2.0 document that Dyeworks reads or writes. Property names are those of the specification. */
export interface GltfJson {
  asset: { version: string; minVersion?: string; generator?: string; [more: string]: unknown };
  scene?: number;
  scenes?: { nodes?: number[] }[];
  nodes?: NodeJson[];
  meshes?: MeshJson[];
  materials?: MaterialJson[];
  textures?: TextureJson[];
  images?: ImageJson[];
  samplers?: SamplerJson[];
  accessors?: AccessorJson[];
  bufferViews?: BufferViewJson[];
  buffers?: BufferJson[];
  animations?: AnimationJson[];
  skins?: SkinJson[];
  cameras?: unknown[];
  extensionsUsed?: string[];
  extensionsRequired?: string[];
  extensions?: Extensions;
  [more: string]: unknown;
}

export interface SkinJson {
  joints?: number[];
  inverseBindMatrices?: number;
  skeleton?: number;
}

export type Extensions = Record<string, Record<string, unknown>>;

export interface NodeJson {
  name?: string;
  mesh?: number;
  camera?: number;
  skin?: number;
  children?: number[];
  matrix?: number[];
  translation?: number[];
  rotation?: number[];
  scale?: number[];
  extensions?: Extensions;
}

export interface MeshJson {
  name?: string;
  primitives: PrimitiveJson[];
  weights?: number[];
}

export interface PrimitiveJson {
  attributes: Record<string, number>;
  indices?: number;
  material?: number;
  mode?: number;
  targets?: Record<string, number>[];
  extensions?: Extensions;
}

export interface TextureInfoJson {
  index: number;
  texCoord?: number;
  extensions?: Extensions;
  [more: string]: unknown;
}

export interface MaterialJson {
  name?: string;
  pbrMetallicRoughness?: {
    baseColorFactor?: number[];
    baseColorTexture?: TextureInfoJson;
    metallicFactor?: number;
    roughnessFactor?: number;
    metallicRoughnessTexture?: TextureInfoJson;
  };
  normalTexture?: TextureInfoJson;
  occlusionTexture?: TextureInfoJson;
  emissiveTexture?: TextureInfoJson;
  emissiveFactor?: number[];
  alphaMode?: 'OPAQUE' | 'MASK' | 'BLEND';
  alphaCutoff?: number;
  doubleSided?: boolean;
  extensions?: Extensions;
  [more: string]: unknown;
}

export interface TextureJson {
  name?: string;
  source?: number;
  sampler?: number;
  extensions?: Extensions;
}

export interface ImageJson {
  name?: string;
  uri?: string;
  mimeType?: string;
  bufferView?: number;
}

export interface SamplerJson {
  magFilter?: number;
  minFilter?: number;
  wrapS?: number;
  wrapT?: number;
}

export interface AccessorJson {
  bufferView?: number;
  byteOffset?: number;
  componentType: number;
  count: number;
  type: string;
  normalized?: boolean;
  min?: number[];
  max?: number[];
  sparse?: {
    count: number;
    indices: { bufferView: number; byteOffset?: number; componentType: number };
    values: { bufferView: number; byteOffset?: number };
  };
}

export interface BufferViewJson {
  buffer: number;
  byteOffset?: number;
  byteLength: number;
  byteStride?: number;
  target?: number;
  extensions?: Extensions;
}

export interface BufferJson {
  byteLength: number;
  uri?: string;
  extensions?: Extensions;
}

export interface AnimationJson {
  channels?: { sampler: number; target: { node?: number; path: string; extensions?: Extensions } }[];
  samplers?: { input: number; output: number }[];
}

export const VARIANTS = 'KHR_materials_variants';
/** Extensions of buffer views whose bytes are compressed, at another place of a buffer. */
export const MESHOPT = ['EXT_meshopt_compression', 'KHR_meshopt_compression'] as const;
export const DRACO = 'KHR_draco_mesh_compression';

/** glTF primitive modes that draw triangles. */
export const TRIANGLES = 4;
export const TRIANGLE_STRIP = 5;
export const TRIANGLE_FAN = 6;

export const COMPONENT_BYTES: Readonly<Record<number, number>> = {
  5120: 1,
  5121: 1,
  5122: 2,
  5123: 2,
  5125: 4,
  5126: 4,
};

export const TYPE_COMPONENTS: Readonly<Record<string, number>> = {
  SCALAR: 1,
  VEC2: 2,
  VEC3: 3,
  VEC4: 4,
  MAT2: 4,
  MAT3: 9,
  MAT4: 16,
};

/** A name of the document as text, cut to 200 characters; empty when it is no text. */
export function readName(value: unknown): string {
  return typeof value === 'string' ? [...value.slice(0, 400)].slice(0, 200).join('') : '';
}

/** Nodes that a group names; its count covers all of them. */
const NAMED = 20;

/** Nodes as a survey lists them: their number, and the names of the first. */
export function describeNodes({ nodes = [] }: GltfJson, members: readonly number[]): NodeGroup {
  return {
    count: members.length,
    first: members.slice(0, NAMED).map((node) => ({ node, name: readName(nodes[node]!.name) })),
  };
}

/** Names of the variants in the order of `KHR_materials_variants`. */
export function listVariantNames(json: GltfJson): string[] {
  const variants = json.extensions?.[VARIANTS]?.variants;
  return Array.isArray(variants) ? variants.map((variant) => String((variant as { name?: unknown })?.name ?? '')) : [];
}
