import { type FileHandle, open } from 'node:fs/promises';
import { divideByDetailMean, planWear } from '../../core/delivery/kept-maps.ts';
import type { NormalsApart } from '../../core/delivery/plan-normals.ts';
import { type LevelledMap, makeLevelTables } from '../../core/finish/level-map.ts';
import type { WriteRequest } from '../../core/ports/models.ts';
import type { Container } from '../document/container.ts';
import type { MaterialJson, TextureInfoJson } from '../document/json.ts';
import { bestSource, texCoordOf } from '../document/read-material.ts';
import { readImageBytes } from '../document/stored-bytes.ts';
import { combineNormals } from './combine-part-normals.ts';
import type { MapMaker } from './derived-maps.ts';
import {
  type AlphaMap,
  type FinishResult,
  hasVolume,
  type LevelledDetailMap,
  type PartOverrides,
  type PlanOverrides,
  roundToDigits,
} from './material-spec.ts';

/**
 * Decides for each finish result what its part keeps, and makes the maps for it. Must run before the source's JSON is changed.
 * @returns also `notCombined`: normal maps that a slot wants combined but that cannot be, with the reason
 */
export async function readPartOverrides(
  results: readonly FinishResult[],
  request: WriteRequest,
  source: Container,
  maps: MapMaker,
): Promise<PlanOverrides & { readonly notCombined: readonly NormalsApart[] }> {
  const { normals, notCombined } = await combineNormals(results, request, source, maps);
  const parts = results.map((result, at) =>
    decideOverrides(source.json.materials?.[result.planned.sourceMaterial ?? -1], result, normals[at] === 'part'),
  );
  return { parts, normals, notCombined, ...(await derivePartMaps(parts, request.sourcePath, source, maps)) };
}

/**
 * Decides what a part keeps of its source material, by the slot's `keep`. A finish's colour map replaces a detail map, and its
 * roughness map replaces wear.
 * @param showsNormals whether the result shows the part's own normal map
 */
function decideOverrides(
  source: MaterialJson | undefined,
  { planned: { slot, sourceMaterial, uvSets, detail: map, wear: relativeWear }, finish }: FinishResult,
  showsNormals: boolean,
): PartOverrides {
  const { keep } = slot;
  const mode = source?.alphaMode ?? 'OPAQUE';
  const glossy = source?.extensions?.KHR_materials_pbrSpecularGlossiness as
    | { diffuseTexture?: TextureInfoJson; diffuseFactor?: number[] }
    | undefined;
  const unusableMaps: string[] = [];
  const ifUsable = (name: string, info: TextureInfoJson | undefined): TextureInfoJson | null => {
    if (!info || texCoordOf(info) < uvSets) return info ?? null;
    unusableMaps.push(name);
    return null;
  };
  const pbr = source?.pbrMetallicRoughness;
  const wear = relativeWear && planWear(finish, relativeWear);
  const wearMap = wear ? ifUsable('roughness', pbr?.metallicRoughnessTexture) : null;
  const detailMap = map && !finish.maps.colour ? ifUsable('detail', pbr?.baseColorTexture) : null;
  const detail =
    map && sourceMaterial !== null && detailMap
      ? { material: sourceMaterial, texture: detailMap, map, levelled: divideByDetailMean(finish, map) }
      : null;
  const hasShape = keep.alpha && (mode === 'MASK' || mode === 'BLEND');
  const doubleSided = source?.doubleSided ?? false;
  return {
    doubleSided: doubleSided && !hasVolume(finish),
    dropsDoubleSided: doubleSided && hasVolume(finish),
    normalTexture: showsNormals ? ifUsable('normal', source?.normalTexture) : null,
    occlusionTexture: keep.occlusion ? ifUsable('occlusion', source?.occlusionTexture) : null,
    detail,
    wear: wear && wearMap ? { texture: wearMap, roughnessFactor: roundToDigits(wear.factor) } : null,
    alpha: hasShape
      ? {
          mode,
          cutoff: mode === 'MASK' ? source?.alphaCutoff : undefined,
          factor: (glossy?.diffuseFactor ?? pbr?.baseColorFactor)?.[3] ?? 1,
          // a detail map contains the alpha
          texture: detail ? null : ifUsable('alpha', glossy?.diffuseTexture ?? pbr?.baseColorTexture),
        }
      : null,
    unusableMaps,
  };
}

/** Textures of the source that the new materials refer to as they are. */
export function listKeptTextures({ parts, alphaMaps }: PlanOverrides): number[] {
  const kept = parts.flatMap(({ normalTexture, occlusionTexture, detail, wear }) => [
    normalTexture?.index,
    occlusionTexture?.index,
    detail && keyDetailMap(detail) === null ? detail.texture.index : undefined,
    wear?.texture.index,
  ]);
  for (const [texture, map] of alphaMaps) if (map === 'unchanged') kept.push(texture);
  return kept.filter((index) => index !== undefined);
}

/**
 * Adds the properties that a part keeps to a material made from a finish.
 * @param alphaTexture texture with the part's alpha, where its colour map gives it its shape
 * @param detailTexture texture with the re-encoded detail map, where the finish needs one
 */
export function applyPartOverrides(
  material: MaterialJson,
  part: PartOverrides,
  alphaTexture: number | null,
  detailTexture: number | null,
): void {
  if (part.doubleSided) material.doubleSided = true;
  if (part.normalTexture) material.normalTexture = structuredClone(part.normalTexture);
  if (part.occlusionTexture) material.occlusionTexture = structuredClone(part.occlusionTexture);
  if (part.detail) {
    const { texture, levelled, map } = part.detail;
    (material.pbrMetallicRoughness ??= {}).baseColorTexture = {
      ...structuredClone(texture),
      ...(detailTexture !== null && { index: detailTexture }),
    };
    // states by what the colour factor was divided
    const mean = levelled.contrast === null ? map.mean : (findMean(levelled) ?? map.mean);
    material.extras = { neutralDetail: { mean } };
  }
  if (part.wear) {
    const pbr = (material.pbrMetallicRoughness ??= {});
    pbr.metallicRoughnessTexture = structuredClone(part.wear.texture);
    pbr.roughnessFactor = part.wear.roughnessFactor;
  }
  if (!part.alpha) return;
  material.alphaMode = part.alpha.mode;
  if (part.alpha.cutoff !== undefined) material.alphaCutoff = part.alpha.cutoff;
  const pbr = (material.pbrMetallicRoughness ??= {});
  const [r = 1, g = 1, b = 1] = pbr.baseColorFactor ?? [];
  if (part.alpha.factor !== 1) pbr.baseColorFactor = [r, g, b, part.alpha.factor];
  if (part.alpha.texture && alphaTexture !== null) {
    pbr.baseColorTexture = { ...structuredClone(part.alpha.texture), index: alphaTexture };
  }
}

/** Linear mean of a levelled map, 0–1; null for a factor of 0, which hides the map. */
function findMean({ factor, mean }: LevelledMap): number | null {
  const channel = factor.indexOf(Math.max(...factor));
  return factor[channel]! > 0 ? mean[channel]! / factor[channel]! : null;
}

type Detail = NonNullable<PartOverrides['detail']>;

/** Key of the re-encoded map that a detail map needs; null where the map stays as it is. */
export function keyDetailMap({ material, texture, map, levelled }: Detail): string | null {
  return levelled.contrast === null || !map.codes ? null : `${material} ${texture.index} ${levelled.contrast}`;
}

/** Makes the maps that parts keep in a changed form, each once. Must run before the source's JSON is changed. */
async function derivePartMaps(
  parts: readonly PartOverrides[],
  sourcePath: string,
  source: Container,
  maps: MapMaker,
): Promise<Pick<PlanOverrides, 'alphaMaps' | 'detailMaps'>> {
  const alphaMaps = new Map<number, AlphaMap>();
  const detailMaps = new Map<string, LevelledDetailMap>();
  const details = new Map<string, Detail>();
  for (const { detail } of parts) {
    const key = detail && keyDetailMap(detail);
    if (key !== null) details.set(key, detail!);
  }
  const alphas = new Set(parts.flatMap(({ alpha }) => (alpha?.texture ? [alpha.texture.index] : [])));
  if (alphas.size + details.size === 0) return { alphaMaps, detailMaps };
  const file = await open(sourcePath, 'r');
  try {
    for (const texture of alphas) {
      const bytes = await readTexture(file, source, texture);
      alphaMaps.set(texture, bytes && (await extractAlpha(bytes, maps)));
    }
    for (const [key, { texture, map, levelled }] of details) {
      const bytes = await readTexture(file, source, texture.index);
      const tables = makeLevelTables(map.codes!, levelled.contrast!);
      detailMaps.set(key, { texture: texture.index, ...(await maps.level({ bytes: bytes! }, tables)) });
    }
  } finally {
    await file.close();
  }
  return { alphaMaps, detailMaps };
}

function extractAlpha(bytes: Uint8Array, maps: MapMaker): Promise<AlphaMap> {
  return maps.remake({ bytes }, 'alpha-under-white').catch(() => 'unchanged' as const);
}

async function readTexture(file: FileHandle, source: Container, texture: number): Promise<Buffer | null> {
  const image = bestSource(source.json.textures?.[texture]);
  return image === null ? null : readImageBytes(file, source, image);
}
