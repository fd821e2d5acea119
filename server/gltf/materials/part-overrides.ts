import { levelDetail } from '../../core/delivery/divide-by-detail-mean.ts';
import { layWear } from '../../core/delivery/judge-wear.ts';
import type { PlannedResult } from '../../core/delivery/mapping-plan.ts';
import type { LevelledMap } from '../../core/finish/level-map.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import type { NeutralDetail } from '../../core/product/survey.ts';
import type { MaterialJson, TextureInfoJson } from '../document/json.ts';
import { texCoordOf } from '../document/texture-transform.ts';
import { hasBody } from './add-shading.ts';

type FinishResult = Extract<PlannedResult, { kind: 'finish' }>;

/** What a part hands on to whatever finish it takes. */
export interface KeptFromPart {
  /** A body of glass has but an outside: there it says nothing (`KHR_materials_volume`), and is left off. */
  readonly doubleSided: boolean;
  readonly normalTexture: TextureInfoJson | null;
  readonly occlusionTexture: TextureInfoJson | null;
  /** Neutral detail map in the colour map's place, and how the finish's colour is laid on it. */
  readonly detail: {
    /** Material of the source; each has its own share of the map, and is levelled by that. */
    readonly material: number;
    readonly texture: TextureInfoJson;
    readonly map: NeutralDetail;
    readonly levelled: LevelledMap;
  } | null;
  /** Roughness map as relative wear, with the factor that brings its mean to the finish's roughness. */
  readonly wear: { readonly texture: TextureInfoJson; readonly roughnessFactor: number } | null;
  readonly alpha: {
    readonly mode: 'MASK' | 'BLEND';
    readonly cutoff: number | undefined;
    readonly factor: number;
    /** Colour map whose alpha shapes the part. */
    readonly texture: TextureInfoJson | null;
  } | null;
  /** Maps that would stay and are laid by a set of UVs the part lacks, which no viewer could do: they are left off. */
  readonly leftOff: readonly string[];
}

/**
 * Reads from a source material what belongs to the part, as the slot's `keep` says. A finish with a colour map of its own
 * lays that in the place of a detail map, and one with a roughness map lays that in the place of wear.
 * @param showsNormals whether the part's own normal map is shown, as it is
 */
export function readKept(
  source: MaterialJson | undefined,
  { slot: { keep }, sourceMaterial, uvSets, detail: map, wear: worn }: FinishResult,
  finish: ResolvedFinish,
  showsNormals: boolean,
): KeptFromPart {
  const mode = source?.alphaMode ?? 'OPAQUE';
  const glossy = source?.extensions?.KHR_materials_pbrSpecularGlossiness as
    | { diffuseTexture?: TextureInfoJson; diffuseFactor?: number[] }
    | undefined;
  const leftOff: string[] = [];
  const ifLaid = (name: string, info: TextureInfoJson | undefined): TextureInfoJson | null => {
    if (!info || texCoordOf(info) < uvSets) return info ?? null;
    leftOff.push(name);
    return null;
  };
  const pbr = source?.pbrMetallicRoughness;
  const laid = worn && layWear(finish, worn);
  const wearMap = laid ? ifLaid('roughness', pbr?.metallicRoughnessTexture) : null;
  const detailMap = map && !finish.maps.colour ? ifLaid('detail', pbr?.baseColorTexture) : null;
  const detail =
    map && sourceMaterial !== null && detailMap
      ? { material: sourceMaterial, texture: detailMap, map, levelled: levelDetail(finish, map) }
      : null;
  const isShaped = keep.alpha && (mode === 'MASK' || mode === 'BLEND');
  return {
    doubleSided: (source?.doubleSided ?? false) && !hasBody(finish),
    normalTexture: showsNormals ? ifLaid('normal', source?.normalTexture) : null,
    occlusionTexture: keep.occlusion ? ifLaid('occlusion', source?.occlusionTexture) : null,
    detail,
    wear: laid && wearMap ? { texture: wearMap, roughnessFactor: Number(laid.factor.toPrecision(8)) } : null,
    alpha: isShaped
      ? {
          mode,
          cutoff: mode === 'MASK' ? source?.alphaCutoff : undefined,
          factor: (glossy?.diffuseFactor ?? pbr?.baseColorFactor)?.[3] ?? 1,
          // a detail map brings its own alpha with it
          texture: detail ? null : ifLaid('alpha', glossy?.diffuseTexture ?? pbr?.baseColorTexture),
        }
      : null,
    leftOff,
  };
}

/**
 * Puts what belongs to the part onto a finish's material.
 * @param alphaTexture texture that holds the part's alpha under white, when its colour map shapes it
 * @param detailTexture texture that holds the detail map re-encoded, where the finish needs that
 */
export function applyKept(
  material: MaterialJson,
  kept: KeptFromPart,
  alphaTexture: number | null,
  detailTexture: number | null,
): void {
  if (kept.doubleSided) material.doubleSided = true;
  if (kept.normalTexture) material.normalTexture = structuredClone(kept.normalTexture);
  if (kept.occlusionTexture) material.occlusionTexture = structuredClone(kept.occlusionTexture);
  if (kept.detail) {
    const { texture, levelled, map } = kept.detail;
    (material.pbrMetallicRoughness ??= {}).baseColorTexture = {
      ...structuredClone(texture),
      ...(detailTexture !== null && { index: detailTexture }),
    };
    // so that whoever reads the file knows by what the factor was divided
    const mean = levelled.contrast === null ? map.mean : (findMean(levelled) ?? map.mean);
    material.extras = { neutralDetail: { mean } };
  }
  if (kept.wear) {
    const pbr = (material.pbrMetallicRoughness ??= {});
    pbr.metallicRoughnessTexture = structuredClone(kept.wear.texture);
    pbr.roughnessFactor = kept.wear.roughnessFactor;
  }
  if (!kept.alpha) return;
  material.alphaMode = kept.alpha.mode;
  if (kept.alpha.cutoff !== undefined) material.alphaCutoff = kept.alpha.cutoff;
  const pbr = (material.pbrMetallicRoughness ??= {});
  const [r = 1, g = 1, b = 1] = pbr.baseColorFactor ?? [];
  if (kept.alpha.factor !== 1) pbr.baseColorFactor = [r, g, b, kept.alpha.factor];
  if (kept.alpha.texture && alphaTexture !== null) {
    pbr.baseColorTexture = { ...structuredClone(kept.alpha.texture), index: alphaTexture };
  }
}

/** Mean of the map that is laid; null for a factor of nought, which hides it. */
function findMean({ factor, mean }: LevelledMap): number | null {
  const channel = factor.indexOf(Math.max(...factor));
  return factor[channel]! > 0 ? mean[channel]! / factor[channel]! : null;
}
