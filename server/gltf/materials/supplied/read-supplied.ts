import { foldCode } from '../../../core/codes.ts';
import type { PlannedResult } from '../../../core/delivery/mapping-plan.ts';
import type { SuppliedChange } from '../../../core/finish/supplied-material.ts';
import type { WriteRequest } from '../../../core/ports/models.ts';
import { parseGltf } from '../../document/container.ts';
import type { GltfJson, MaterialJson, PrimitiveJson } from '../../document/json.ts';
import { dropTexture, listTextureUses, readFactors, type TextureUse } from '../../document/read-material.ts';
import { mendJson } from '../../mend/read-model.ts';
import { type MaterialDocument, type PlannedFinish, roundToDigits } from '../material-spec.ts';
import { extractMaterial } from './material-glb.ts';

/** The supplied materials that a plan needs: stored GLBs of one material each. */
export interface SuppliedMaterials {
  /** In the order in which the plan needs them. */
  readonly byKey: ReadonlyMap<string, MaterialDocument>;
  /** The key for each result of the plan; null for results without a supplied material. */
  readonly keys: readonly (string | null)[];
  /** Finishes whose maps need a UV set that the parts lack, by slot. */
  readonly missingUvs: ReadonlyMap<string, ReadonlySet<string>>;
  /** Finishes whose colour or roughness the factors of the supplied material cannot reach. */
  readonly outOfReach: ReadonlySet<string>;
}

/**
 * Reads the supplied materials of a plan, each adapted to what its finish states now and to the UV sets of the part. Maps
 * that need a UV set which the part lacks are removed: no viewer could show them, and the file would not be valid.
 * @param json the source, unchanged
 */
export async function readSupplied(request: WriteRequest, json: GltfJson): Promise<SuppliedMaterials> {
  const { plan, finishes, readMap } = request;
  const stored = new Map<string, MaterialDocument>();
  const byKey = new Map<string, MaterialDocument>();
  const keys: (string | null)[] = [];
  const missingUvs = new Map<string, Set<string>>();
  const outOfReach = new Set<string>();
  for (const planned of plan.results) {
    const sha256 = findSupplied(planned, finishes);
    if (planned.kind !== 'finish' || sha256 === null) {
      keys.push(null);
      continue;
    }
    let supplied = stored.get(sha256);
    if (!supplied) {
      supplied = parseMaterial((await readMap(sha256)).bytes);
      stored.set(sha256, supplied);
    }
    const change = finishes.get(foldCode(planned.finish))!.suppliedChange;
    const sets = countSetsAtHand(json, planned);
    const fits = countUvSetsNeeded(supplied) <= sets;
    const key = JSON.stringify([sha256, change, fits ? null : sets]);
    keys.push(key);
    if (!byKey.has(key)) {
      const { material, exceeds } = change ? changeFactors(supplied, change) : { material: supplied, exceeds: false };
      if (exceeds) outOfReach.add(planned.finish);
      byKey.set(key, fits ? material : fitToUvSets(material, sets));
    }
    const { slot } = planned.slot;
    if (!fits) missingUvs.set(slot, (missingUvs.get(slot) ?? new Set()).add(planned.finish));
  }
  return { byKey, keys, missingUvs, outOfReach };
}

function findSupplied(planned: PlannedResult, finishes: WriteRequest['finishes']): string | null {
  return planned.kind === 'finish' ? (finishes.get(foldCode(planned.finish))?.supplied ?? null) : null;
}

/** The fewest UV sets among the primitives of a result. */
function countSetsAtHand(json: GltfJson, { slot, sourceMaterial, hasUv }: PlannedFinish): number {
  const counts = slot.primitives.flatMap(({ mesh, primitive: p }) => {
    const primitive = json.meshes?.[mesh]?.primitives[p];
    if (!primitive || (primitive.material ?? null) !== sourceMaterial) return [];
    const sets = countUvSets(primitive);
    return sets > 0 === hasUv ? [sets] : [];
  });
  return counts.length > 0 ? Math.min(...counts) : 0;
}

/** Splits a GLB into its chunks (glTF 2.0 §4.4). The GLB was written by `extractMaterial`, so it is not checked. */
function parseMaterial(glb: Uint8Array): MaterialDocument {
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
function countUvSets({ attributes }: PrimitiveJson): number {
  let sets = 0;
  while (attributes[`TEXCOORD_${sets}`] !== undefined) sets++;
  return sets;
}

/** How many UV sets the maps of a material need: 0 without maps, 2 where one uses TEXCOORD_1. */
function countUvSetsNeeded({ json }: MaterialDocument): number {
  return Math.max(0, ...listTextureUses(json.materials![0]!).map(countSetsOf));
}

/** A viewer without KHR_texture_transform uses the texture's own set, so that both must exist. */
function countSetsOf({ info }: TextureUse): number {
  const own = info.texCoord ?? 0;
  const transformed = info.extensions?.KHR_texture_transform?.texCoord;
  return Math.max(own, typeof transformed === 'number' ? transformed : own) + 1;
}

/** Removes the maps that need more UV sets than a part has. */
function fitToUvSets(supplied: MaterialDocument, sets: number): MaterialDocument {
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
function changeFactors(
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
