import { COMPONENT_BYTES, DRACO, type GltfJson, MESHOPT, TYPE_COMPONENTS } from '../document/json.ts';
import type { Reachable } from './find-reachable.ts';

/** What bytes are read as, in the words a person is told by. */
export const CAUSES = {
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

/** Causes of accessors that a graphics card holds; all other causes of accessors are read by the processor. */
const ON_CARD = (cause: string) => cause !== CAUSES.animations && cause !== CAUSES.skins;

/** What each accessor in use is for: its attribute's name, or one of `CAUSES`. Of several uses the first counts. */
export function listAccessorCauses(
  json: GltfJson,
  { meshes, skins, nodes, accessors }: Reachable,
): Map<number, string> {
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

export function accessorBytes(json: GltfJson, index: number): number {
  const { componentType, type, count } = json.accessors![index]!;
  return (COMPONENT_BYTES[componentType] ?? 0) * (TYPE_COMPONENTS[type] ?? 0) * count;
}

/** Where a view's bytes stand in the file: with meshopt where the compressed ones do. */
export function storedRange(json: GltfJson, view: number): { buffer: number; start: number; end: number } {
  const plain = json.bufferViews![view]!;
  const name = MESHOPT.find((candidate) => plain.extensions?.[candidate]);
  const { buffer, byteOffset = 0, byteLength } = (name ? plain.extensions![name] : plain) as typeof plain;
  return { buffer, start: byteOffset, end: byteOffset + byteLength };
}

/** For every view in use its readers by cause, with the bytes each of them takes out of it. */
export function listViewReaders(
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

/** Bytes of vertex and index buffers on a graphics card: views as they stand unpacked, each once. */
export function measureGeometryMemory(json: GltfJson, reachable: Reachable): number {
  const views = new Set<number>();
  let bytes = 0;
  for (const [index, cause] of listAccessorCauses(json, reachable)) {
    if (!ON_CARD(cause)) continue;
    const { bufferView } = json.accessors![index]!;
    // Draco's accessors have no view, and what has neither is all zeros: both are made in memory
    if (bufferView === undefined) bytes += accessorBytes(json, index);
    else views.add(bufferView);
  }
  for (const view of views) bytes += json.bufferViews?.[view]?.byteLength ?? 0;
  return bytes;
}
