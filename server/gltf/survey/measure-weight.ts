import type { Survey, SurveyedImage } from '../../core/product/survey.ts';
import type { Container } from '../document/container.ts';
import type { Reachable } from '../document/find-reachable.ts';
import { DRACO, type GltfJson } from '../document/json.ts';
import { bestSource } from '../document/read-material.ts';
import { accessorBytes, countUnreadBytes, listReadRanges } from '../document/stored-bytes.ts';

/** Names of the uses of bytes, as the survey has them. */
const CAUSES = {
  json: 'JSON',
  indices: 'indices',
  targets: 'morph targets',
  animations: 'animations',
  skins: 'skins',
  instances: 'instances',
  draco: 'Draco geometry',
  other: 'other buffer views',
  unread: 'what nothing reads',
} as const;

export interface Weight {
  /** Heaviest first. */
  readonly causes: Survey['weight']['causes'];
  /** Bytes of the BIN chunk that no object in use reads, without padding. */
  readonly unreadBytes: number;
}

/**
 * Divides the bytes of a file among their uses. A view with several readers is divided in proportion to the bytes that each
 * reads. Bytes in two views count once, for the first.
 */
export function measureWeight(
  { json, jsonBytes, bin }: Pick<Container, 'json' | 'jsonBytes' | 'bin'>,
  reachable: Reachable,
  images: readonly SurveyedImage[],
): Weight {
  const causes = new Map<string, number>();
  const add = (cause: string, bytes: number) => {
    if (bytes > 0) causes.set(cause, (causes.get(cause) ?? 0) + bytes);
  };
  const imageCause = (image: number) => causeOfImage(images[image]?.usedBy ?? []);

  let inJson = 0;
  json.images?.forEach(({ uri }, index) => {
    if (!uri) return;
    inJson += uri.length;
    add(reachable.images.has(index) ? imageCause(index) : CAUSES.unread, uri.length);
  });
  add(CAUSES.json, jsonBytes - inJson);

  const readers = listViewReaders(json, reachable, imageCause);
  let read = 0;
  for (const { view, start, end } of listReadRanges(json, readers.keys())) {
    const own = Math.max(0, end - Math.max(start, read));
    const shares = readers.get(view)!;
    const total = [...shares.values()].reduce((sum, bytes) => sum + bytes, 0);
    for (const [cause, bytes] of shares) add(cause, (own * bytes) / total);
    read = Math.max(read, end);
  }
  const unreadBytes = countUnreadBytes(json, bin?.length ?? 0, readers.keys());
  add(CAUSES.unread, unreadBytes);
  return {
    causes: [...causes]
      .map(([cause, bytes]) => ({ cause, bytes: Math.round(bytes) }))
      .sort((a, b) => b.bytes - a.bytes || (a.cause < b.cause ? -1 : 1)),
    unreadBytes,
  };
}

/** The use of each accessor: the name of its attribute, or one of `CAUSES`. The first of several uses counts. */
function listAccessorCauses(json: GltfJson, { meshes, skins, nodes, accessors }: Reachable): Map<number, string> {
  const causes = new Map<number, string>();
  const add = (index: unknown, cause: string) => {
    if (typeof index === 'number' && accessors.has(index) && !causes.has(index)) causes.set(index, cause);
  };
  for (const mesh of meshes) {
    for (const { attributes, indices, targets = [] } of json.meshes![mesh]!.primitives) {
      for (const [name, index] of Object.entries(attributes)) add(index, name);
      add(indices, CAUSES.indices);
      for (const target of targets) for (const index of Object.values(target)) add(index, CAUSES.targets);
    }
  }
  for (const skin of skins) add(json.skins![skin]!.inverseBindMatrices, CAUSES.skins);
  for (const node of nodes) {
    const instances = json.nodes![node]!.extensions?.EXT_mesh_gpu_instancing?.attributes ?? {};
    for (const index of Object.values(instances)) add(index, CAUSES.instances);
  }
  for (const { samplers = [] } of json.animations ?? []) {
    for (const { input, output } of samplers) {
      add(input, CAUSES.animations);
      add(output, CAUSES.animations);
    }
  }
  return causes;
}

/** For each view in use, the bytes that each of its uses reads. */
function listViewReaders(
  json: GltfJson,
  reachable: Reachable,
  imageCause: (image: number) => string,
): Map<number, Map<string, number>> {
  const readers = new Map<number, Map<string, number>>();
  const add = (view: number | undefined, cause: string, bytes: number) => {
    if (view === undefined) return;
    const own = readers.get(view) ?? new Map<string, number>();
    own.set(cause, (own.get(cause) ?? 0) + bytes);
    readers.set(view, own);
  };
  for (const [index, cause] of listAccessorCauses(json, reachable)) {
    const { bufferView, sparse } = json.accessors![index]!;
    add(bufferView, cause, accessorBytes(json, index));
    add(sparse?.indices.bufferView, cause, 1);
    add(sparse?.values.bufferView, cause, 1);
  }
  for (const image of reachable.images) add(json.images?.[image]?.bufferView, imageCause(image), 1);
  for (const mesh of reachable.meshes) {
    for (const { extensions } of json.meshes![mesh]!.primitives) {
      const view = extensions?.[DRACO]?.bufferView;
      if (typeof view === 'number') add(view, CAUSES.draco, 1);
    }
  }
  for (const view of reachable.bufferViews) if (!readers.has(view)) add(view, CAUSES.other, 1);
  return readers;
}

/** Names of maps in the trade, by the end of the property; the first match counts. */
const MAPS: readonly (readonly [RegExp, string])[] = [
  [/\/(baseColor|diffuse)Texture$/, 'colour maps'],
  [/\/(metallicRoughness|specularGlossiness)Texture$/, 'roughness maps'],
  [/[nN]ormalTexture$/, 'normal maps'],
  [/\/occlusionTexture$/, 'occlusion maps'],
  [/\/emissiveTexture$/, 'emissive maps'],
];

function causeOfImage(usedBy: readonly string[]): string {
  return MAPS.find(([pattern]) => usedBy.some((use) => pattern.test(use)))?.[1] ?? 'other maps';
}

/** Estimates what a model takes on a graphics card, in bytes. */
export function measureGpuMemory(
  json: GltfJson,
  reachable: Reachable,
  images: readonly SurveyedImage[],
): Survey['gpu'] {
  return { geometry: measureGeometry(json, reachable), textures: measureTextures(json, reachable, images) };
}

/** Animations and skins are read by the processor; all other accessors go to the graphics card. */
const ON_CARD = (cause: string) => cause !== CAUSES.animations && cause !== CAUSES.skins;

/** Vertex and index buffers: each view once, unpacked. */
function measureGeometry(json: GltfJson, reachable: Reachable): number {
  const views = new Set<number>();
  let bytes = 0;
  for (const [index, cause] of listAccessorCauses(json, reachable)) {
    if (!ON_CARD(cause)) continue;
    const { bufferView } = json.accessors![index]!;
    // an accessor without a view is unpacked from Draco or all zeros, and takes memory in both cases
    if (bufferView === undefined) bytes += accessorBytes(json, index);
    else views.add(bufferView);
  }
  for (const view of views) bytes += json.bufferViews?.[view]?.byteLength ?? 0;
  return bytes;
}

/** Mip levels add a third: 1 + 1/4 + 1/16 + … */
const MIPS = 4 / 3;
/** Bytes of a texel: RGBA of eight bits, or for KTX2 a block format (BC7, ASTC 4 × 4). */
const TEXEL_BYTES = { plain: 4, ktx2: 1 } as const;

/** Sums each image that a texture shows, once. Of several sources, a viewer with every extension uses the last. */
function measureTextures(json: GltfJson, { textures }: Reachable, images: readonly SurveyedImage[]): number {
  const shown = new Set([...textures].map((texture) => bestSource(json.textures?.[texture])));
  let bytes = 0;
  for (const index of shown) {
    const { widthPx = 0, heightPx = 0, mimeType = null } = images[index ?? -1] ?? {};
    const texel = mimeType === 'image/ktx2' ? TEXEL_BYTES.ktx2 : TEXEL_BYTES.plain;
    bytes += (widthPx ?? 0) * (heightPx ?? 0) * texel * MIPS;
  }
  return Math.round(bytes);
}
