import { type NormalTurn, toMetres, toUvMap, turnNormals } from '../../core/delivery/repeat-transform.ts';
import { directionOf } from '../../core/product/slot.ts';
import type { MeshScale, UvFrame } from '../../core/product/survey.ts';
import type { TextureInfoJson } from '../document/json.ts';
import { readTransform, texCoordOf } from '../document/read-material.ts';
import {
  type FinishResult,
  hasVolume,
  type MaterialSpec,
  type PartOverrides,
  type PlanOverrides,
  type ShownNormals,
} from './material-spec.ts';
import { findMapTurn } from './tangent-frame.ts';

interface SpecifiedMaterials {
  /** One for each finish result, in order. */
  readonly specs: readonly MaterialSpec[];
  /**
   * For each finish result, the first one with the same material, which is itself in most cases. Only that one is written.
   */
  readonly firstAlike: readonly number[];
}

/** Specifies the material of every finish result, and finds those with the same material. */
export function specifyMaterials(results: readonly FinishResult[], overrides: PlanOverrides): SpecifiedMaterials {
  const specs = results.map((result, at) => {
    const part = overrides.parts[at]!;
    const alpha = part.alpha?.texture ? overrides.alphaMaps.get(part.alpha.texture.index) : null;
    return specify(result, part, Boolean(alpha), overrides.normals[at]!);
  });
  return { specs, firstAlike: findAlike(results, specs) };
}

function specify(
  { planned, finish }: FinishResult,
  part: PartOverrides,
  hasAlphaMap: boolean,
  normals: ShownNormals,
): MaterialSpec {
  const omittedMaps = new Set<'colour' | 'normal' | 'roughness'>();
  if (normals === 'part') omittedMaps.add('normal');
  if (hasAlphaMap) omittedMaps.add('colour');
  return {
    name: `${planned.slot.slot}/${finish.finish}`,
    finish,
    lay: planned.hasUv ? planned.lay : null,
    grainDegrees: directionOf(planned.slot, finish.family),
    omittedMaps,
    detail: part.detail?.levelled ?? null,
    unusableMaps: part.unusableMaps,
    hasTangents: planned.hasTangents,
    ...(normals === 'part' && { partFrame: findPartFrame(part.normalTexture, planned.lay) }),
    metresPerMeshUnit: planned.scale ? middleOf(planned.scale) : 1,
    ...(typeof normals === 'object' && { combinedNormals: normals }),
  };
}

/**
 * The tangent frame that viewers derive from the part's own normal map. Null for a map in another UV set than the finish's,
 * since the relation between two sets is not known.
 */
function findPartFrame(info: TextureInfoJson | null, lay: UvFrame): NormalTurn | null {
  if (info && texCoordOf(info) !== lay.texCoord) return null;
  return turnNormals(toMetres(toUvMap(readTransform(info?.extensions?.KHR_texture_transform ?? {})), lay));
}

/**
 * The scale for a mesh that nodes of several scales draw: the geometric mean of the extremes, so that the thickness of the
 * smallest and the largest are wrong by the same ratio.
 */
export function middleOf({ low, high }: MeshScale): number {
  return low === high ? low : Math.sqrt(low * high);
}

/**
 * Results share a material if their parts differ only in properties that the finish does not use. A finish uses tangents for
 * brushing and for turned normal maps, the scale of the mesh for a thickness, and UV sets for the part's own maps.
 */
function findAlike(results: readonly FinishResult[], specs: readonly MaterialSpec[]): number[] {
  const first = new Map<string, number>();
  return results.map(({ planned: { slot, sourceMaterial, hasUv } }, at) => {
    const spec = specs[at]!;
    const { finish, hasTangents, metresPerMeshUnit, unusableMaps } = spec;
    const used = [
      finish.anisotropy && hasTangents,
      findMapTurn(spec) !== null,
      hasVolume(finish) && metresPerMeshUnit,
      unusableMaps,
    ];
    const key = JSON.stringify([slot.slot, finish.finish, sourceMaterial, hasUv, ...used]);
    const known = first.get(key) ?? at;
    first.set(key, known);
    return known;
  });
}
