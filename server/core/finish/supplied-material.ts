import { CODE_LENGTH, foldCode, RESERVED, toCode, toName } from '../codes.ts';
import { hexToLinear, type LinearRgb, linearToHex } from '../colour/srgb.ts';
import type { Survey, SurveyedImage, SurveyedMaterial } from '../product/survey.ts';
import type { Family, Finish, SuppliedMaterial } from './finish.ts';

export type Description = Required<Pick<Finish, 'family' | 'roughness' | 'metal'>> & {
  readonly colour: { readonly hex: string };
};

const COLOUR_MAPS = new Set([
  'pbrMetallicRoughness.baseColorTexture',
  'extensions.KHR_materials_pbrSpecularGlossiness.diffuseTexture',
]);
const METAL_ROUGHNESS_MAP = 'pbrMetallicRoughness.metallicRoughnessTexture';
/** In glTF, green is roughness and blue is metalness. */
const GREEN = 1;
const BLUE = 2;

/**
 * Describes a model's material for lists and chips. Colour is the factor times the linear mean of the colour map.
 * Roughness and metalness are the factors times the means of their channels. An unreadable map counts as white. The
 * family is a guess for a person to correct (sheen: textile; metal: bare metal; transmission: glass; anything else:
 * plastic).
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
    // Two decimals are enough for a description.
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
  // Cloth comes before metal, because exporters that omit the metallic factor leave it at 1.
  if (extensions.includes('KHR_materials_sheen')) return 'textile';
  if (metal) return 'bare-metal';
  return extensions.includes('KHR_materials_transmission') ? 'glass' : 'plastic';
}

function clamp(value: number): number {
  return Math.min(1, Math.max(0, value));
}

/** A finish for a material of a model. */
interface NamedMaterial {
  readonly code: string;
  readonly name: string;
  /** A finish with this code already has the same material and stays unchanged. */
  readonly known: boolean;
}

/**
 * Names finishes after materials. A material without a name gets “material” and its index in the file. A code of
 * another finish gets a number, unless that finish has the same material. Materials with equal bytes become one finish.
 * @returns in the order of the materials
 */
export function nameSuppliedFinishes(
  materials: readonly { readonly index: number; readonly name: string; readonly sha256: string }[],
  finishes: ReadonlyMap<string, Finish>,
): NamedMaterial[] {
  const taken = new Map<string, string | undefined>([...finishes].map(([key, finish]) => [key, finish.supplied?.file]));
  for (const word of RESERVED) taken.set(word, undefined);
  const stored = new Set(taken.keys());
  return materials.map(({ index, name, sha256 }) => {
    const fallback = `material ${index}`;
    const stem = toCode(name) || toCode(fallback);
    let code = stem;
    for (let n = 2; taken.has(foldCode(code)) && taken.get(foldCode(code)) !== sha256; n++) {
      // Leaves room for the number.
      code = `${stem.slice(0, CODE_LENGTH - 8)}-${n}`;
    }
    const known = stored.has(foldCode(code));
    taken.set(foldCode(code), sha256);
    return { code: finishes.get(foldCode(code))?.finish ?? code, name: toName(name) || fallback, known };
  });
}

/** Where a finish differs from its supplied material; null if they agree and the material stays unchanged. */
export interface SuppliedChange {
  /** Mean colour of the material, and its new colour, linear RGB. */
  readonly baseColour: { readonly from: LinearRgb; readonly to: LinearRgb } | null;
  /** 0–1. */
  readonly roughness: { readonly from: number; readonly to: number } | null;
  readonly metalness: 0 | 1 | null;
}

/**
 * Compares a finish with the stored values of its material.
 * @param colour the finish's own, as hex and unrounded
 * @returns null if the material is delivered verbatim
 */
export function changeSupplied(
  { says }: SuppliedMaterial,
  colour: { readonly hex: string; readonly rgb: LinearRgb },
  roughness: number,
  metalness: 0 | 1,
): SuppliedChange | null {
  if (!says) return null;
  const change: SuppliedChange = {
    baseColour: colour.hex === says.hex ? null : { from: hexToLinear(says.hex), to: colour.rgb },
    roughness: roughness === says.roughness ? null : { from: says.roughness, to: roughness },
    metalness: (metalness === 1) === says.metal ? null : metalness,
  };
  return change.baseColour || change.roughness || change.metalness !== null ? change : null;
}
