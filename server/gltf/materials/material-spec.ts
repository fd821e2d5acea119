import { foldCode } from '../../core/codes.ts';
import type { PlannedResult } from '../../core/delivery/mapping-plan.ts';
import { type NormalTurn, toMetres, toUvMap, turnNormals } from '../../core/delivery/uv-map.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import type { WriteRequest } from '../../core/ports/models.ts';
import { directionOf } from '../../core/product/slot.ts';
import type { MeshScale, UvFrame } from '../../core/product/survey.ts';
import type { TextureInfoJson } from '../document/json.ts';
import { readTransform, texCoordOf } from '../document/texture-transform.ts';
import { hasBody } from './add-shading.ts';
import type { LaidNormals } from './combine-part-normals.ts';
import type { KitItem } from './finish-material.ts';
import type { KeptFromPart } from './part-overrides.ts';
import type { PartAlpha } from './read-alphas.ts';
import { findMapTurn } from './tangent-frame.ts';

export type FinishResult = Extract<PlannedResult, { kind: 'finish' }>;

/** What is to be made for a result of the plan. */
export function toKitItem(
  result: FinishResult,
  finish: ResolvedFinish,
  kept: KeptFromPart,
  alphas: ReadonlyMap<number, PartAlpha>,
  normals: LaidNormals,
): KitItem {
  const without = new Set<'colour' | 'normal' | 'roughness'>();
  if (normals === 'part') without.add('normal');
  if (kept.alpha?.texture && alphas.get(kept.alpha.texture.index)) without.add('colour');
  return {
    name: `${result.slot.slot}/${finish.finish}`,
    finish,
    // without UVs no map can be laid
    lay: result.hasUv ? result.lay : null,
    grainDegrees: directionOf(result.slot, finish.family),
    without,
    detail: kept.detail?.levelled ?? null,
    leftOff: kept.leftOff,
    tangents: result.hasTangents,
    ...(normals === 'part' && { partFrame: readFrame(kept.normalTexture, result.lay) }),
    metresPerMeshUnit: result.scale ? middleOf(result.scale) : 1,
    ...(typeof normals === 'object' && { bakedNormals: normals }),
  };
}

/**
 * The frame that viewers make from a normal map of the part's own, as it is laid. How one set of UVs lies to another is not
 * known: a map in another set than the finish's says nothing.
 */
function readFrame(info: TextureInfoJson | null, lay: UvFrame): NormalTurn | null {
  if (info && texCoordOf(info) !== lay.texCoord) return null;
  return turnNormals(toMetres(toUvMap(readTransform(info?.extensions?.KHR_texture_transform ?? {})), lay));
}

/** The scale a thickness is stated by where nodes of several draw one mesh: as far off on the largest as on the smallest. */
export function middleOf({ low, high }: MeshScale): number {
  return low === high ? low : Math.sqrt(low * high);
}

/**
 * Results that come to one material, since what their parts differ in is nothing their finish looks at: tangents matter to
 * brushing and to normals that are laid turned, the scale of the mesh to a body with a thickness, sets of UVs to maps of the
 * part that cannot stay without them.
 * @param items what is to be made of each result, in the same order
 * @returns by result, the first that comes to the same
 */
export function findAlike(results: readonly FinishResult[], items: readonly KitItem[]): number[] {
  const first = new Map<string, number>();
  return results.map(({ slot, sourceMaterial, hasUv }, index) => {
    const { finish, tangents, metresPerMeshUnit, leftOff } = items[index]!;
    const looks = [
      finish.anisotropy && tangents,
      findMapTurn(items[index]!) !== null,
      hasBody(finish) && metresPerMeshUnit,
      leftOff,
    ];
    const key = JSON.stringify([slot.slot, finish.finish, sourceMaterial, hasUv, ...looks]);
    const known = first.get(key) ?? index;
    first.set(key, known);
    return known;
  });
}

export function findFinish({ finish: code }: FinishResult, { finishes }: WriteRequest): ResolvedFinish {
  const finish = finishes.get(foldCode(code));
  if (!finish) throw new Error(`finish ${code} was planned but not resolved`);
  return finish;
}
