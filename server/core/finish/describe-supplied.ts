import { linearToHex } from '../colour/srgb.ts';
import type { Survey, SurveyedImage, SurveyedMaterial } from '../product/survey.ts';
import type { Family, Finish } from './finish.ts';

export type Description = Required<Pick<Finish, 'family' | 'roughness' | 'metal'>> & {
  readonly colour: { readonly hex: string };
};

const COLOUR_MAPS = new Set([
  'pbrMetallicRoughness.baseColorTexture',
  'extensions.KHR_materials_pbrSpecularGlossiness.diffuseTexture',
]);
const METAL_ROUGHNESS_MAP = 'pbrMetallicRoughness.metallicRoughnessTexture';
/** glTF reads roughness from green and metalness from blue. */
const GREEN = 1;
const BLUE = 2;

/**
 * What lists and chips say of a material that came with a model. Colour is the factor times the linear mean of the colour
 * map, roughness and metalness are the factors times the means of their channels; a map that cannot be read counts as
 * white. The family is a guess (sheen: textile; metal: bare metal; transmission: glass; anything else: plastic), there to
 * be corrected by whoever knows.
 * @param extensions names of the material's extensions
 */
export function describeSupplied(
  material: SurveyedMaterial,
  images: Survey['images'],
  extensions: readonly string[],
): Description {
  const { baseColor, metallic, roughness } = material.factors;
  const mean = findImage(material, images, (use) => COLOUR_MAPS.has(use))?.content?.linearMean ?? [1, 1, 1];
  const channels = findImage(material, images, (use) => use === METAL_ROUGHNESS_MAP)?.content?.channels;
  const metal = metallic * (channels?.[BLUE]?.mean ?? 1) > 0.5;
  return {
    family: guessFamily(metal, extensions),
    colour: { hex: linearToHex([baseColor[0] * mean[0], baseColor[1] * mean[1], baseColor[2] * mean[2]]) },
    // two figures: it describes, and makes nothing
    roughness: Math.round(clamp(roughness * (channels?.[GREEN]?.mean ?? 1)) * 100) / 100,
    metal,
  };
}

function findImage(
  { maps }: SurveyedMaterial,
  images: Survey['images'],
  test: (use: string) => boolean,
): SurveyedImage | undefined {
  return images[maps.find(({ use }) => test(use))?.image ?? -1];
}

function guessFamily(metal: boolean, extensions: readonly string[]): Family {
  // cloth before metal: exporters that forget the metallic factor leave it at 1
  if (extensions.includes('KHR_materials_sheen')) return 'textile';
  if (metal) return 'bare-metal';
  return extensions.includes('KHR_materials_transmission') ? 'glass' : 'plastic';
}

function clamp(value: number): number {
  return Math.min(1, Math.max(0, value));
}
