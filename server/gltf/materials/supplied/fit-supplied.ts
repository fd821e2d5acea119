import type { GltfJson, MaterialJson, PrimitiveJson } from '../../document/json.ts';
import { dropTexture, listTextureUses, type TextureUse } from '../../document/texture-uses.ts';
import type { FinishKit } from '../finish-material.ts';
import { extractMaterial } from './extract-material.ts';

/** Sets of UVs a primitive has, counted from TEXCOORD_0 without a gap. */
export function countUvSets({ attributes }: PrimitiveJson): number {
  let sets = 0;
  while (attributes[`TEXCOORD_${sets}`] !== undefined) sets++;
  return sets;
}

/** Sets of UVs a material's maps are laid by: 0 without maps, 2 where one is laid by TEXCOORD_1. */
export function countUvSetsNeeded(material: MaterialJson): number {
  return Math.max(0, ...listTextureUses(material).map(setsOf));
}

/** A viewer that knows the transform goes by its set (KHR_texture_transform), any other by the texture's own. */
function setsOf({ info }: TextureUse): number {
  const own = info.texCoord ?? 0;
  const transformed = info.extensions?.KHR_texture_transform?.texCoord;
  return Math.max(own, typeof transformed === 'number' ? transformed : own) + 1;
}

/**
 * A supplied material without some of its maps, and without what only they referred to. All else stays to the letter.
 * @param leaveOff whether a map comes off
 */
export function leaveMapsOff({ json, bin }: FinishKit, leaveOff: (use: TextureUse) => boolean): Buffer {
  const [material] = structuredClone(json.materials!);
  for (const use of listTextureUses(material!).filter(leaveOff)) dropTexture(material!, use);
  const rest: GltfJson = { ...json, materials: [material!] };
  return extractMaterial({ json: rest, bin: Buffer.from(bin.buffer, bin.byteOffset, bin.byteLength) }, 0);
}

/** Whether a map is laid by a set of UVs that a part with `sets` of them does not have. */
export function isBeyond(sets: number): (use: TextureUse) => boolean {
  return (use) => setsOf(use) > sets;
}

/** Occlusion is of the part it was made for: on a ball it would be stains. */
export function isOcclusion({ use }: TextureUse): boolean {
  return use === 'occlusionTexture';
}
