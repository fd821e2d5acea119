import {
  declareImageFormats,
  filterDeclared,
  isKnownExtension,
  isSurfaceExtension,
  listExtensionsInUse,
} from '../document/extensions.ts';
import { DRACO, type GltfJson, MESHOPT, type MeshJson, type PrimitiveJson, VARIANTS } from '../document/json.ts';
import { type Indexed, type Reference, visitReferences } from '../document/visit-references.ts';
import { type ByteRange, keepRanges, makeShift, moveViews, planCuts } from '../write/plan-cuts.ts';

/** Which variants of a delivered file to keep, by their index in the file. */
export interface Extract {
  /** In the order of the file; at least one. */
  readonly variants: readonly number[];
  /** The kept variant that a viewer shows before a choice. */
  readonly first: number;
  /** False: the file shows the first variant, and has no `KHR_materials_variants`. */
  readonly withExtension: boolean;
}

/** A GLB made from another: its JSON, and the ranges of the other's BIN chunk that follow, in order. */
export interface Extracted {
  readonly json: GltfJson;
  readonly ranges: readonly ByteRange[];
  readonly binBytes: number;
}

/** The arrays whose unused objects are left out. */
const DROPPED = ['materials', 'textures', 'images', 'samplers', 'bufferViews'] as const satisfies readonly Indexed[];
type Dropped = (typeof DROPPED)[number];
type Sets = Readonly<Record<Dropped, Set<number>>>;

/**
 * Plans a file with some variants of a delivered one. Materials that no kept variant shows are left out, with the textures, images,
 * samplers and bytes that only they use; nodes, meshes, accessors and their bytes stay as they are. With an unknown extension, which
 * may refer to anything, everything stays but the mappings. The same input gives the same result; the input does not change.
 */
export function planExtract(source: GltfJson, binBytes: number, extract: Extract): Extracted {
  const json: GltfJson = { ...source, asset: source.asset };
  const meshes = source.meshes?.map((mesh) => keepVariants(mesh, extract));
  if (meshes) json.meshes = meshes;
  keepNames(json, source, extract);
  let cuts: readonly ByteRange[] = [];
  if ((source.extensionsUsed ?? []).every((name) => isKnownExtension(name))) {
    const kept = listKept(json);
    cuts = source.buffers?.[0]?.uri === undefined ? planCuts(source, listFreedViews(source, kept)) : [];
    dropUnused(json, source, kept);
    moveViews(json, makeShift(cuts));
    declareImageFormats(json);
    const inUse = listExtensionsInUse({ ...json, nodes: [], meshes: [] });
    filterDeclared(json, (name) => !isSurfaceExtension(name) || name === VARIANTS || inUse.has(name));
  }
  filterDeclared(json, (name) => name !== VARIANTS || extract.withExtension);
  const ranges = keepRanges(cuts, binBytes);
  const length = ranges.reduce((sum, { start, end }) => sum + end - start, 0);
  if (cuts.length > 0) setLength(json, source, length);
  return { json, ranges, binBytes: length };
}

interface Mapping {
  readonly material?: number;
  readonly variants: readonly number[];
}

/** Meshes of the source are never changed: those with mappings are copied. */
function keepVariants(mesh: MeshJson, extract: Extract): MeshJson {
  return { ...mesh, primitives: mesh.primitives.map((primitive) => keepMappings(primitive, extract)) };
}

function keepMappings(primitive: PrimitiveJson, { variants, first, withExtension }: Extract): PrimitiveJson {
  const kept: PrimitiveJson = { ...primitive };
  const { [VARIANTS]: given, ...others } = primitive.extensions ?? {};
  if (!given) return others[DRACO] ? { ...kept, extensions: { ...others, [DRACO]: { ...others[DRACO] } } } : kept;
  const mappings = (Array.isArray(given.mappings) ? given.mappings : []) as Mapping[];
  const shown = mappings.find((mapping) => mapping.variants.includes(first));
  if (shown) {
    if (shown.material === undefined) delete kept.material;
    else kept.material = shown.material;
  }
  const places = new Map(variants.map((variant, at) => [variant, at]));
  const still = mappings.flatMap((mapping) => {
    const at = mapping.variants.flatMap((variant) => places.get(variant) ?? []);
    return at.length > 0 ? [{ ...mapping, variants: at }] : [];
  });
  const extensions = { ...others };
  if (extensions[DRACO]) extensions[DRACO] = { ...extensions[DRACO] };
  if (withExtension && still.length > 0) extensions[VARIANTS] = { ...given, mappings: still };
  if (Object.keys(extensions).length > 0) kept.extensions = extensions;
  else delete kept.extensions;
  return kept;
}

function keepNames(json: GltfJson, source: GltfJson, { variants, withExtension }: Extract): void {
  const { [VARIANTS]: given, ...others } = source.extensions ?? {};
  const names = (given?.variants ?? []) as readonly unknown[];
  const extensions = withExtension
    ? { ...others, [VARIANTS]: { ...given, variants: variants.map((variant) => names[variant]) } }
    : others;
  if (Object.keys(extensions).length > 0) json.extensions = extensions;
  else delete json.extensions;
}

/** What the document without its unused materials still refers to. */
function listKept(json: GltfJson): Sets {
  const kept = Object.fromEntries(DROPPED.map((array) => [array, new Set<number>()])) as Sets;
  const add = ({ array, index }: Reference) => {
    if (array in kept) kept[array as Dropped].add(index);
  };
  const { meshes, animations, materials = [], textures = [], images = [], accessors } = json;
  const pick = <T>(list: readonly T[], of: ReadonlySet<number>) => [...of].flatMap((index) => list[index] ?? []);
  const visit = (part: Partial<GltfJson>) => visitReferences({ asset: json.asset, ...part }, add);
  visit({ ...(meshes && { meshes }), ...(animations && { animations }), ...(accessors && { accessors }) });
  visit({ materials: pick(materials, kept.materials) });
  visit({ textures: pick(textures, kept.textures) });
  visit({ images: pick(images, kept.images) });
  return kept;
}

/** Buffer views that only images read, none of them kept, and that lie in the BIN chunk without compression. */
function listFreedViews(source: GltfJson, kept: Sets): Set<number> {
  const freed = new Set<number>();
  for (const { bufferView } of source.images ?? []) {
    if (bufferView === undefined || kept.bufferViews.has(bufferView)) continue;
    const { buffer, extensions } = source.bufferViews![bufferView]!;
    if (buffer === 0 && !MESHOPT.some((name) => extensions?.[name])) freed.add(bufferView);
  }
  return freed;
}

/** Leaves unused objects out of the arrays, and renumbers what refers to the others. Buffer views of no image stay. */
function dropUnused(json: GltfJson, source: GltfJson, kept: Sets): void {
  const ofImages = new Set((source.images ?? []).flatMap(({ bufferView }) => bufferView ?? []));
  const stays: Readonly<Record<Dropped, (index: number) => boolean>> = {
    materials: (index) => kept.materials.has(index),
    textures: (index) => kept.textures.has(index),
    images: (index) => kept.images.has(index),
    samplers: (index) => kept.samplers.has(index),
    bufferViews: (index) => kept.bufferViews.has(index) || !ofImages.has(index),
  };
  const moved = {} as Record<Dropped, Map<number, number>>;
  for (const array of DROPPED) {
    const list = (source[array] ?? []) as readonly object[];
    const indices = [...list.keys()].filter(stays[array]);
    moved[array] = new Map(indices.map((index, at) => [index, at]));
    if (indices.length > 0)
      (json as Record<string, unknown>)[array] = indices.map((index) => copy(list[index]!, array));
    else delete json[array];
  }
  if (json.accessors && !isUnmoved(moved.bufferViews))
    json.accessors = json.accessors.map((accessor) => structuredClone(accessor));
  if (json.animations) json.animations = structuredClone(json.animations);
  // of nodes, skins and scenes nothing moves, so they stay those of the source
  const { nodes: _, scenes: _scenes, skins: _skins, ...changed } = json;
  visitReferences(changed as GltfJson, ({ array, index, set }) => {
    const to = moved[array as Dropped]?.get(index);
    if (to !== undefined && to !== index) set(to);
  });
}

const isUnmoved = (moved: ReadonlyMap<number, number>) => [...moved].every(([from, to]) => from === to);

/** Materials and textures have references inside, and buffer views have offsets. */
function copy(value: object, array: Dropped): object {
  return array === 'materials' || array === 'textures' || array === 'bufferViews'
    ? structuredClone(value)
    : { ...value };
}

function setLength(json: GltfJson, source: GltfJson, length: number): void {
  const [first, ...others] = source.buffers!;
  json.buffers = [{ ...first!, byteLength: length }, ...others];
  // no view reads an empty buffer, and glTF allows none
  if (length === 0 && others.length === 0) delete json.buffers;
}
