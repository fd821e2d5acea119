import { isKnownExtension } from '../document/extensions.ts';
import { DRACO, type GltfJson, MESHOPT } from '../document/json.ts';
import { listAnimatedMaterials, listSources, listTextureUses } from '../document/texture-uses.ts';

/** Which materials, textures, images and buffer views something in the document still refers to. */
export interface LiveObjects {
  readonly materials: ReadonlySet<number>;
  readonly textures: ReadonlySet<number>;
  readonly images: ReadonlySet<number>;
  /** Buffer views of the source that only images read which nothing shows any more. */
  readonly freedViews: ReadonlySet<number>;
  /** True when an extension nobody here knows might refer to anything, so that everything counts as live. */
  readonly everything: boolean;
}

/**
 * Finds what stays in use.
 * @param usedMaterials materials that primitives show, in any variant
 * @param keptTextures textures that finishes take over from the parts
 * @param trustUnknown counts as if unknown extensions referred to nothing: how much they hold back
 */
export function findLiveObjects(
  json: GltfJson,
  usedMaterials: Iterable<number>,
  keptTextures: Iterable<number>,
  trustUnknown = false,
): LiveObjects {
  const everything = !trustUnknown && (json.extensionsUsed ?? []).some((name) => !isKnownExtension(name));
  if (everything) {
    return {
      materials: all(json.materials),
      textures: all(json.textures),
      images: all(json.images),
      freedViews: new Set(),
      everything,
    };
  }
  const materials = new Set([...usedMaterials, ...listAnimatedMaterials(json)]);
  const textures = new Set(keptTextures);
  for (const index of materials) {
    for (const { info } of listTextureUses(json.materials?.[index] ?? {})) textures.add(info.index);
  }
  const images = new Set<number>();
  for (const index of textures) for (const image of listSources(json.textures?.[index] ?? {})) images.add(image);

  const imageViews = new Set<number>();
  const liveViews = new Set(listGeometryViews(json));
  json.images?.forEach(({ bufferView }, index) => {
    if (bufferView === undefined) return;
    (images.has(index) ? liveViews : imageViews).add(bufferView);
  });
  const freedViews = new Set([...imageViews].filter((view) => !liveViews.has(view) && isPlain(json, view)));
  return { materials, textures, images, freedViews, everything };
}

/** Buffer views that accessors and geometry extensions read. */
export function* listGeometryViews(json: GltfJson): Generator<number> {
  for (const accessor of json.accessors ?? []) {
    if (accessor.bufferView !== undefined) yield accessor.bufferView;
    if (accessor.sparse) {
      yield accessor.sparse.indices.bufferView;
      yield accessor.sparse.values.bufferView;
    }
  }
  for (const mesh of json.meshes ?? []) {
    for (const primitive of mesh.primitives) {
      const view = primitive.extensions?.[DRACO]?.bufferView;
      if (typeof view === 'number') yield view;
    }
  }
}

function isPlain(json: GltfJson, view: number): boolean {
  const { buffer, extensions } = json.bufferViews![view]!;
  return buffer === 0 && !MESHOPT.some((name) => extensions?.[name]);
}

function all(list: readonly unknown[] | undefined): Set<number> {
  return new Set((list ?? []).keys());
}
