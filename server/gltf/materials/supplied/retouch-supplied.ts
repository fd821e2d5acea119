import type { SuppliedChange } from '../../../core/finish/change-supplied.ts';
import type { MaterialJson } from '../../document/json.ts';
import { readFactors } from '../../document/read-factors.ts';

/**
 * Brings a supplied material to what its finish says by now. Only factors change, in proportion: what a map brings to the
 * mean stays in it, so the mean comes to what is wanted. Where a factor was 0 nothing is known of the map under it, and it
 * takes the wanted value as it stands. A factor is 1 at most.
 * @returns whether some factor would have had to be more
 */
export function retouchSupplied(material: MaterialJson, { baseColour, roughness, metalness }: SuppliedChange): boolean {
  const glossy = material.extensions?.KHR_materials_pbrSpecularGlossiness;
  const before = readFactors(material);
  const pbr = glossy ? {} : (material.pbrMetallicRoughness ??= {});
  let short = false;
  const scale = (factor: number, from: number, to: number): number => {
    const wanted = from > 0 ? (factor * to) / from : to;
    // the hex the mean was told by is rounded to 8 bits
    if (wanted > 1.01) short = true;
    return Number(Math.min(1, wanted).toPrecision(8));
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
    if (glossy) glossy.glossinessFactor = Number((1 - factor).toPrecision(8));
    else pbr.roughnessFactor = factor;
  }
  if (metalness !== null) pbr.metallicFactor = metalness;
  return short;
}
