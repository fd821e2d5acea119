import type { SuppliedChange } from '../../../core/finish/supplied-material.ts';
import { parseGltf } from '../../document/container.ts';
import type { GltfJson, MaterialJson, PrimitiveJson } from '../../document/json.ts';
import { readFactors } from '../../document/read-factors.ts';
import { dropTexture, listTextureUses, type TextureUse } from '../../document/texture-uses.ts';
import { mendJson } from '../../mend/mend-json.ts';
import { type MaterialDocument, roundToDigits } from '../material-spec.ts';
import { extractMaterial } from './extract-material.ts';

/** Splits a GLB that was written here, and so is known to be whole, into its chunks (glTF 2.0 §4.4). */
export function parseMaterial(glb: Uint8Array): MaterialDocument {
  const file = Buffer.from(glb.buffer, glb.byteOffset, glb.byteLength);
  const jsonBytes = file.readUInt32LE(12);
  const { json } = mendJson(parseGltf(file.subarray(20, 20 + jsonBytes)));
  return { json, bin: file.subarray(28 + jsonBytes) };
}

/** A supplied material as a swatch shows it: on a sphere with one UV set. */
export function fitToSwatch(glb: Uint8Array, change: SuppliedChange | null): Uint8Array {
  const supplied = parseMaterial(glb);
  const changed = change ? changeFactors(supplied, change).material : supplied;
  // occlusion belongs to the part that it was made for, and would show as stains
  return removeMaps(changed, (use) => countSetsOf(use) > 1 || use.use === 'occlusionTexture');
}

/** Counts the UV sets of a primitive, from TEXCOORD_0 on without a gap. */
export function countUvSets({ attributes }: PrimitiveJson): number {
  let sets = 0;
  while (attributes[`TEXCOORD_${sets}`] !== undefined) sets++;
  return sets;
}

/** How many UV sets the maps of a material need: 0 without maps, 2 where one uses TEXCOORD_1. */
export function countUvSetsNeeded({ json }: MaterialDocument): number {
  return Math.max(0, ...listTextureUses(json.materials![0]!).map(countSetsOf));
}

/** A viewer without KHR_texture_transform uses the texture's own set, so that both must exist. */
function countSetsOf({ info }: TextureUse): number {
  const own = info.texCoord ?? 0;
  const transformed = info.extensions?.KHR_texture_transform?.texCoord;
  return Math.max(own, typeof transformed === 'number' ? transformed : own) + 1;
}

/** Removes the maps that need more UV sets than a part has. */
export function fitToUvSets(supplied: MaterialDocument, sets: number): MaterialDocument {
  return parseMaterial(removeMaps(supplied, (use) => countSetsOf(use) > sets));
}

/** Writes a GLB of the material without some of its maps and what only they refer to. The rest stays as it is. */
function removeMaps({ json, bin }: MaterialDocument, isRemoved: (use: TextureUse) => boolean): Buffer {
  const [material] = structuredClone(json.materials!);
  for (const use of listTextureUses(material!).filter(isRemoved)) dropTexture(material!, use);
  const rest: GltfJson = { ...json, materials: [material!] };
  return extractMaterial({ json: rest, bin: Buffer.from(bin.buffer, bin.byteOffset, bin.byteLength) }, 0);
}

/**
 * Brings a supplied material to the values that its finish states now. Only factors change, in proportion, so that the mean
 * of factor × map reaches the value. Under a factor of 0 the map is unknown, and the factor takes the value itself.
 * @returns also `exceeds`: some factor would have to be above 1, and is 1
 */
export function changeFactors(
  { json, bin }: MaterialDocument,
  change: SuppliedChange,
): { readonly material: MaterialDocument; readonly exceeds: boolean } {
  const changed = { ...json, materials: structuredClone(json.materials!) };
  return { exceeds: scaleFactors(changed.materials[0]!, change), material: { json: changed, bin } };
}

function scaleFactors(material: MaterialJson, { baseColour, roughness, metalness }: SuppliedChange): boolean {
  const glossy = material.extensions?.KHR_materials_pbrSpecularGlossiness;
  const before = readFactors(material);
  const pbr = glossy ? {} : (material.pbrMetallicRoughness ??= {});
  let exceeds = false;
  const scale = (factor: number, from: number, to: number): number => {
    const wanted = from > 0 ? (factor * to) / from : to;
    // 1 % more is allowed, since the mean comes from a hex code of 8 bits
    if (wanted > 1.01) exceeds = true;
    return roundToDigits(Math.min(1, wanted));
  };
  if (baseColour) {
    const { from, to } = baseColour;
    const [r, g, b, alpha] = before.baseColor;
    const factor = [scale(r, from[0], to[0]), scale(g, from[1], to[1]), scale(b, from[2], to[2]), alpha];
    if (glossy) glossy.diffuseFactor = factor;
    else pbr.baseColorFactor = factor;
  }
  if (roughness) {
    const factor = scale(before.roughness, roughness.from, roughness.to);
    if (glossy) glossy.glossinessFactor = roundToDigits(1 - factor);
    else pbr.roughnessFactor = factor;
  }
  if (metalness !== null) pbr.metallicFactor = metalness;
  return exceeds;
}
