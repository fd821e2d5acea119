import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import type { Container } from '../document/container.ts';
import { isKnownExtension } from '../document/extensions.ts';
import { DRACO, type GltfJson, MESHOPT } from '../document/json.ts';
import { listAnimatedMaterials, listSources, listTextureUses } from '../document/read-material.ts';
import { type ByteRange, planCuts } from './plan-cuts.ts';

/** Materials, textures and images of the source that something still refers to, and the buffer views that are free. */
interface Referenced {
  readonly materials: ReadonlySet<number>;
  readonly textures: ReadonlySet<number>;
  readonly images: ReadonlySet<number>;
  /** Buffer views with images that nothing uses any more, and with nothing else. */
  readonly freedViews: ReadonlySet<number>;
}

/** The objects and bytes that a delivery drops from its source, and those that it keeps. */
export interface Removals extends Referenced {
  /** Ranges of the BIN chunk to leave out, in order. */
  readonly cuts: readonly ByteRange[];
  readonly leftOutBytes: number;
  /** Bytes that stay only because an unknown extension may read them. */
  readonly deadBytes: number;
}

/**
 * Decides what a delivery drops from its source: materials that no primitive shows in any variant, the textures and images
 * that only those materials use, and the bytes of those images. If the model declares an unknown extension, everything
 * stays, since such an extension may refer to anything.
 * @param keptTextures textures of the source that new materials use
 */
export function planRemovals({ json, bin }: Container, plan: MappingPlan, keptTextures: readonly number[]): Removals {
  const shown = listShownMaterials(json, plan);
  // without a BIN chunk buffer 0 is a data URI, which is never cut
  const planFreed = (freedViews: ReadonlySet<number>) => (bin ? planCuts(json, freedViews) : []);
  if ((json.extensionsUsed ?? []).some((name) => !isKnownExtension(name))) {
    const dead = planFreed(findReferenced(json, shown, keptTextures).freedViews);
    return { ...referToAll(json), cuts: [], leftOutBytes: 0, deadBytes: sumLengths(dead) };
  }
  const referenced = findReferenced(json, shown, keptTextures);
  const cuts = planFreed(referenced.freedViews);
  return { ...referenced, cuts, leftOutBytes: sumLengths(cuts), deadBytes: 0 };
}

/** Materials of the source that stay visible: of primitives outside the plan, and of results without a finish. */
function listShownMaterials(json: GltfJson, plan: MappingPlan): Set<number> {
  const planned = new Set(plan.primitives.map(({ mesh, primitive }) => `${mesh}/${primitive}`));
  const shown = new Set<number>();
  json.meshes?.forEach((mesh, m) => {
    mesh.primitives.forEach(({ material }, p) => {
      if (material !== undefined && !planned.has(`${m}/${p}`)) shown.add(material);
    });
  });
  for (const result of plan.results) {
    if (result.kind === 'source' && result.sourceMaterial !== null) shown.add(result.sourceMaterial);
  }
  return shown;
}

function findReferenced(json: GltfJson, shown: Iterable<number>, keptTextures: Iterable<number>): Referenced {
  const materials = new Set([...shown, ...listAnimatedMaterials(json)]);
  const textures = new Set(keptTextures);
  for (const index of materials) {
    for (const { info } of listTextureUses(json.materials?.[index] ?? {})) textures.add(info.index);
  }
  const images = new Set<number>();
  for (const index of textures) for (const image of listSources(json.textures?.[index] ?? {})) images.add(image);

  const droppedViews = new Set<number>();
  const readViews = new Set(listGeometryViews(json));
  json.images?.forEach(({ bufferView }, index) => {
    if (bufferView === undefined) return;
    (images.has(index) ? readViews : droppedViews).add(bufferView);
  });
  const freedViews = new Set([...droppedViews].filter((view) => !readViews.has(view) && isPlain(json, view)));
  return { materials, textures, images, freedViews };
}

function referToAll({ materials, textures, images }: GltfJson): Referenced {
  const listAll = (list: readonly unknown[] = []) => new Set(list.keys());
  return {
    materials: listAll(materials),
    textures: listAll(textures),
    images: listAll(images),
    freedViews: new Set(),
  };
}

/** Buffer views that accessors and geometry extensions read. */
function* listGeometryViews(json: GltfJson): Generator<number> {
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

function sumLengths(ranges: readonly ByteRange[]): number {
  return ranges.reduce((sum, { start, end }) => sum + end - start, 0);
}
