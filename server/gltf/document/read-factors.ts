import type { SurveyedMaterial } from '../../core/product/survey.ts';
import type { MaterialJson } from './json.ts';

/** Factors as the file has them, with glTF's defaults filled in; of the old specular workflow its diffuse colour. */
export function readFactors({ pbrMetallicRoughness: pbr = {}, extensions }: MaterialJson): SurveyedMaterial['factors'] {
  const glossy = extensions?.KHR_materials_pbrSpecularGlossiness as
    | { diffuseFactor?: unknown; glossinessFactor?: unknown }
    | undefined;
  const [r = 1, g = 1, b = 1, a = 1] = listNumbers(glossy ? glossy.diffuseFactor : pbr.baseColorFactor);
  return {
    baseColor: [r, g, b, a],
    metallic: glossy ? 0 : (toNumber(pbr.metallicFactor) ?? 1),
    roughness: glossy ? 1 - (toNumber(glossy.glossinessFactor) ?? 1) : (toNumber(pbr.roughnessFactor) ?? 1),
  };
}

/**
 * The linear mean of a material's neutral detail map, as the repair that made it wrote it beside the map
 * (`extras.neutralDetail.mean`, above 0 and at most 1); null when its colour map is none.
 */
export function readNeutralDetail({ pbrMetallicRoughness, extras }: MaterialJson): { readonly mean: number } | null {
  const mean = toNumber((extras as { neutralDetail?: { mean?: unknown } } | null | undefined)?.neutralDetail?.mean);
  if (!pbrMetallicRoughness?.baseColorTexture || mean === null || mean <= 0 || mean > 1) return null;
  return { mean };
}

function listNumbers(value: unknown): number[] {
  return Array.isArray(value) && value.every((item) => toNumber(item) !== null) ? value : [];
}

function toNumber(value: unknown): number | null {
  return typeof value === 'number' && Number.isFinite(value) ? value : null;
}
