import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import { isSurfaceExtension, listExtensionsInUse } from '../document/extensions.ts';
import { type GltfJson, VARIANTS } from '../document/json.ts';
import type { FinishResult, MaterialDocument, PlanOverrides } from '../materials/material-spec.ts';
import { applyPartOverrides, keyDetailMap } from '../materials/part-overrides.ts';
import type { SuppliedMaterials } from '../materials/supplied/read-supplied.ts';
import type { GltfAppender } from './gltf-appender.ts';

/** The materials of a plan's results, and the documents and maps that are added for them. */
interface PlanMaterials {
  readonly results: readonly FinishResult[];
  /** For each finish result, the first one with the same material. */
  readonly firstAlike: readonly number[];
  /** One material for each result that is its own first, in order. */
  readonly finishMaterials: MaterialDocument;
  readonly overrides: PlanOverrides;
  readonly supplied: SuppliedMaterials;
}

/** Lengths in bytes of all images that these materials may add. */
export function listImageLengths({ finishMaterials, overrides, supplied }: PlanMaterials): Set<number> {
  const views = [finishMaterials, ...supplied.byKey.values()].flatMap(({ json }) => json.bufferViews ?? []);
  const maps = [...overrides.alphaMaps.values()].filter((map) => map instanceof Uint8Array);
  const details = [...overrides.detailMaps.values()].map(({ bytes }) => bytes);
  return new Set([...views.map(({ byteLength }) => byteLength), ...[...maps, ...details].map(({ length }) => length)]);
}

/**
 * Appends the materials of all results, with the properties that parts keep.
 * @returns the material index of every result of the plan; null is glTF's default material
 */
export function appendMaterials(
  appender: GltfAppender,
  plan: MappingPlan,
  materials: PlanMaterials,
): (number | null)[] {
  const indices = new Array<number | null>(plan.results.length);
  appendFinishMaterials(appender, materials, indices);
  for (const [key, document] of materials.supplied.byKey) {
    const index = appender.materials.add(appender.addDocument(document)[0]!);
    materials.supplied.keys.forEach((wanted, result) => {
      if (wanted === key) indices[result] = index;
    });
  }
  const mapped = new Set(plan.primitives.flatMap(({ mappings }) => mappings.map(({ result }) => result)));
  let bare: number | null = null;
  plan.results.forEach((result, index) => {
    if (result.kind !== 'source') return;
    const isMapped = mapped.has(index);
    // a mapping must name a material, so that glTF's default material has to be written out for it
    if (result.sourceMaterial === null && isMapped) bare ??= appender.materials.add({ name: 'as supplied' });
    indices[index] = result.sourceMaterial ?? (isMapped ? bare : null);
  });
  return indices;
}

function appendFinishMaterials(
  appender: GltfAppender,
  { results, firstAlike, finishMaterials, overrides }: PlanMaterials,
  indices: (number | null)[],
): void {
  const written = appender.addDocument(finishMaterials);
  const alphaTextures = new Map<number, number>();
  for (const [texture, map] of overrides.alphaMaps) {
    if (map === 'unchanged') alphaTextures.set(texture, texture);
    else if (map) alphaTextures.set(texture, appender.addTexture(map, 'image/png', texture));
  }
  const detailTextures = new Map<string, number>();
  for (const [key, { texture, bytes, mimeType }] of overrides.detailMaps) {
    detailTextures.set(key, appender.addTexture(bytes, mimeType, texture));
  }
  let next = 0;
  results.forEach(({ index }, at) => {
    const first = firstAlike[at]!;
    if (first !== at) {
      indices[index] = indices[results[first]!.index]!;
      return;
    }
    const material = written[next++]!;
    const part = overrides.parts[at]!;
    const detailKey = part.detail && keyDetailMap(part.detail);
    applyPartOverrides(
      material,
      part,
      alphaTextures.get(part.alpha?.texture?.index ?? -1) ?? null,
      detailKey === null ? null : detailTextures.get(detailKey)!,
    );
    indices[index] = appender.materials.add(material);
  });
}

/**
 * Updates `extensionsUsed` and `extensionsRequired`: adds what new materials need, and removes extensions of materials and
 * textures that nothing uses any more. `KHR_materials_variants` is used but never required, so that viewers without it show
 * the default variant.
 */
export function declareExtensions(
  json: GltfJson,
  added: readonly MaterialDocument[],
  variants: readonly string[],
): void {
  const inUse = listExtensionsInUse(json);
  const keep = (name: string) => !isSurfaceExtension(name) || inUse.has(name);
  const all = [json, ...added.map((document) => document.json)];
  const used = new Set(all.flatMap(({ extensionsUsed = [] }) => extensionsUsed).filter(keep));
  const required = new Set(all.flatMap(({ extensionsRequired = [] }) => extensionsRequired).filter(keep));
  required.delete(VARIANTS);
  used.delete(VARIANTS);
  if (json.extensions) delete json.extensions[VARIANTS];
  if (variants.length > 0) {
    used.add(VARIANTS);
    json.extensions = { ...json.extensions, [VARIANTS]: { variants: variants.map((name) => ({ name })) } };
  }
  if (json.extensions && Object.keys(json.extensions).length === 0) delete json.extensions;
  setList(json, 'extensionsUsed', used);
  setList(json, 'extensionsRequired', required);
}

function setList(json: GltfJson, key: 'extensionsUsed' | 'extensionsRequired', names: ReadonlySet<string>): void {
  if (names.size > 0) json[key] = [...names];
  else delete json[key];
}
