import type { DeliveredBytes, DeliveredImage, DeliveredMaterial } from '../../core/delivery/weigh-delivery.ts';
import { sniffImage } from '../../core/finish/map-image.ts';
import { readImageSize } from '../../images/read-header.ts';
import { readContainer, readWholeFile } from '../document/container.ts';
import { DRACO, type GltfJson, readName, VARIANTS } from '../document/json.ts';
import { listSources, listTextureUses } from '../document/read-material.ts';
import { accessorBytes, listReadRanges, readDataUri } from '../document/stored-bytes.ts';

/** Reads what the bytes of a delivered GLB are for. Each byte counts once, so that all sum up to the file. */
export async function readDeliveredBytes(path: string): Promise<DeliveredBytes> {
  const { json, bin, fileBytes } = await readContainer(path);
  const file = readWholeFile(path);
  const geometry = new Map<string, number>();
  const images = listImages(json, bin && file.subarray(bin.offset, bin.offset + bin.length));
  const materials = listMaterials(json);
  let unreadBytes = 0;
  const readers = listViewUses(json);
  const imageOfView = new Map<number, number>();
  json.images?.forEach(({ bufferView }, image) => {
    if (bufferView !== undefined && !imageOfView.has(bufferView)) imageOfView.set(bufferView, image);
  });
  const ranges = bin ? listReadRanges(json, json.bufferViews?.keys() ?? []) : [];
  let read = 0;
  ranges.forEach(({ view, start, end }, at) => {
    const from = Math.max(start, read);
    // the gap before the next range is padding, and goes with this one
    const next = ranges[at + 1]?.start ?? bin!.length;
    const to = next - end > 0 && next - end < PADDING ? next : end;
    if (start > read) unreadBytes += start - read;
    const own = Math.max(0, to - from);
    read = Math.max(read, to);
    const image = imageOfView.get(view);
    const shares = readers.get(view);
    if (image !== undefined) images[image]!.bytes += own;
    else if (shares) divide(own, shares, (use, bytes) => geometry.set(use, (geometry.get(use) ?? 0) + bytes));
    else unreadBytes += own;
  });
  if (bin) unreadBytes += bin.length - read;
  const counted = sum([...geometry.values()]) + sum(images.map(({ bytes }) => bytes)) + unreadBytes;
  const inMaterials = sum(materials.map((material) => material.jsonBytes));
  return {
    fileBytes,
    geometry: [...geometry].map(([use, bytes]) => ({ use, bytes })).sort((a, b) => b.bytes - a.bytes),
    images,
    materials,
    unreadBytes,
    structureBytes: fileBytes - counted - inMaterials,
  };
}

/** Longer gaps between two ranges are no padding; see `stored-bytes.ts`. */
const PADDING = 16;

const sum = (numbers: readonly number[]) => numbers.reduce((all, one) => all + one, 0);

/** Divides whole bytes in proportion; what rounding leaves goes to the last. */
function divide(bytes: number, shares: ReadonlyMap<string, number>, add: (use: string, bytes: number) => void): void {
  const total = sum([...shares.values()]);
  let left = bytes;
  const list = [...shares];
  list.forEach(([use, share], at) => {
    const own = at === list.length - 1 ? left : Math.floor((bytes * share) / Math.max(1, total));
    left -= own;
    add(use, own);
  });
}

/** For each view that holds geometry, the bytes that each use reads. */
function listViewUses(json: GltfJson): Map<number, Map<string, number>> {
  const uses = new Map<number, string>();
  const add = (accessor: unknown, use: string) => {
    if (typeof accessor === 'number' && !uses.has(accessor)) uses.set(accessor, use);
  };
  const views = new Map<number, Map<string, number>>();
  const addView = (view: unknown, use: string, bytes: number) => {
    if (typeof view !== 'number') return;
    const own = views.get(view) ?? new Map<string, number>();
    own.set(use, (own.get(use) ?? 0) + bytes);
    views.set(view, own);
  };
  for (const { primitives } of json.meshes ?? []) {
    for (const { attributes, indices, targets = [], extensions } of primitives) {
      for (const [name, accessor] of Object.entries(attributes)) add(accessor, name);
      add(indices, 'indices');
      for (const target of targets) for (const accessor of Object.values(target)) add(accessor, 'morph targets');
      addView(extensions?.[DRACO]?.bufferView, 'Draco geometry', 1);
    }
  }
  for (const { inverseBindMatrices } of json.skins ?? []) add(inverseBindMatrices, 'skins');
  for (const { extensions } of json.nodes ?? []) {
    for (const accessor of Object.values(extensions?.EXT_mesh_gpu_instancing?.attributes ?? {}))
      add(accessor, 'instances');
  }
  for (const { samplers = [] } of json.animations ?? []) {
    for (const { input, output } of samplers) for (const accessor of [input, output]) add(accessor, 'animations');
  }
  json.accessors?.forEach(({ bufferView, sparse }, index) => {
    const use = uses.get(index) ?? 'unused accessors';
    addView(bufferView, use, accessorBytes(json, index));
    addView(sparse?.indices.bufferView, use, 1);
    addView(sparse?.values.bufferView, use, 1);
  });
  return views;
}

/** Bytes of a member's JSON in a list, with its comma. */
const jsonLength = (value: unknown) => Buffer.byteLength(JSON.stringify(value)) + 1;

interface Counted extends DeliveredImage {
  bytes: number;
}

function listImages(json: GltfJson, bin: Buffer | null): Counted[] {
  const uses = (json.images ?? []).map(() => ({ materials: new Set<number>(), uses: new Set<string>() }));
  json.materials?.forEach((material, index) => {
    for (const { use, info } of listTextureUses(material)) {
      for (const source of listSources(json.textures?.[info.index] ?? {})) {
        uses[source]?.materials.add(index);
        uses[source]?.uses.add(use.split('.').at(-1)!);
      }
    }
  });
  return (json.images ?? []).map((image, index) => {
    const view = json.bufferViews?.[image.bufferView ?? -1];
    const start = view?.byteOffset ?? 0;
    const data =
      image.uri === undefined ? view && bin?.subarray(start, start + view.byteLength) : readDataUri(image.uri);
    const sniffed = data ? sniffImage(data) : null;
    const size = data && sniffed ? readImageSize(data, sniffed) : null;
    return {
      image: index,
      name: readName(image.name),
      mimeType: sniffed ?? image.mimeType ?? null,
      widthPx: size?.widthPx ?? null,
      heightPx: size?.heightPx ?? null,
      bytes: jsonLength(image) + (view ? jsonLength(view) : 0),
      materials: [...uses[index]!.materials].sort((a, b) => a - b),
      uses: [...uses[index]!.uses].sort(),
    };
  });
}

function listMaterials(json: GltfJson): DeliveredMaterial[] {
  const found = (json.materials ?? []).map((material) => ({
    name: readName(material.name),
    jsonBytes: jsonLength(material),
    shown: null as DeliveredMaterial['shown'],
  }));
  for (const { primitives } of json.meshes ?? []) {
    for (const { extensions } of primitives) {
      const mappings = extensions?.[VARIANTS]?.mappings as { material: number; variants: number[] }[] | undefined;
      if (!Array.isArray(mappings)) continue;
      const beside = mappings.map(({ material }) => material);
      for (const mapping of mappings) {
        const material = found[mapping.material];
        if (!material) continue;
        material.jsonBytes += jsonLength(mapping);
        material.shown ??= { variant: mapping.variants[0] ?? -1, beside };
      }
    }
  }
  return found;
}
