import { encodeSrgb, type LinearRgb, luminance } from '../colour/srgb.ts';
import { type Finding, makeFinding } from './finding.ts';
import { readMaterialWord } from './material-words.ts';
import {
  COLOUR_MAP,
  findImage,
  hasMap,
  labelOf,
  METAL_MAP,
  type ModelFacts,
  placeOf,
  pointerOf,
} from './model-facts.ts';
import type { ChannelFacts, Survey, SurveyedMaterial } from './survey.ts';

/** Metallic up to here is taken for none: what is left of a map after compression. */
const NO_METAL = 0.1;
/** From here on a part is said to be metal all over. */
const ALL_METAL = 0.9;
/** A channel that spreads less than this is the same all over, compression apart. */
const EVEN_SPREAD = 0.03;
/** Bare metal is not this matt; 1 is glTF's own default, which stands where an exporter wrote nothing. */
const DEFAULT_ROUGHNESS = 0.95;
const MATT = 0.5;
/** Patterns of a colour map beyond this ΔE*ab are print, weave or grain; bare metal has none. */
const PATTERN_DELTA_E = 5;

/**
 * Lightness of metals' base colour: Filament's material guide gives 170–255 in sRGB. Neutral greys are let pass from 100,
 * since brushed and cast metals are often drawn darker; both as sRGB codes.
 */
const METAL_LIGHTNESS = { coloured: 170, neutral: 100 } as const;
/** Largest difference between channels of a grey, sRGB codes. */
const NEUTRAL_SPREAD = 25;

/**
 * Materials that say metal where there is none: such a part has no colour of its own and only mirrors its surroundings,
 * which makes wood and cloth look dark and wet. Two rules, both of judgement:
 * 1. The material's name, or else the names of the nodes that show it, speak of wood, cloth, leather, plastic and the like,
 *    and of no metal.
 * 2. No name tells, it is metal all over by the factor alone or by an even map, and it is as matt as glTF's default, or
 *    matt with a colour or a pattern no bare metal has: exporters that write no `metallicFactor` mean none, and get 1.
 * What is named after a metal, and what is light and grey or yellow, is taken for metal.
 */
export function checkMetal({ survey, open, refer }: ModelFacts): Finding[] {
  return open.flatMap((material) => {
    const metal = readMetal(survey, material);
    const reason = metal && findReason(survey, material, metal);
    if (!reason) return [];
    return [
      makeFinding('metal-on-nonmetal', {
        where: `${pointerOf(material)}/pbrMetallicRoughness`,
        place: placeOf(material),
        message: `${labelOf(material)} is metal to ${metal.mean.toFixed(2)} (0–1), ${reason}. Set it to 0 where there is no metal; a finish that is metal sets its own.`,
        seen: metal.mean,
        expected: 0,
        repairs: [{ repair: 'set-nonmetal', materials: [refer(material)] }],
      }),
    ];
  });
}

interface Metal {
  /** Factor × mean of the map's blue, 0–1. */
  readonly mean: number;
  readonly even: boolean;
  /** Factor × mean of the map's green, 0–1. */
  readonly roughness: number;
}

/** Null where the map cannot be read: then nothing is known. */
function readMetal(survey: Survey, material: SurveyedMaterial): Metal | null {
  const { metallic, roughness } = material.factors;
  if (!hasMap(material, METAL_MAP)) return { mean: metallic, even: true, roughness };
  const channels = findImage(survey, material, METAL_MAP)?.content?.channels;
  const [, green, blue] = channels ?? [];
  if (!green || !blue) return null;
  return { mean: metallic * blue.mean, even: isEven(blue), roughness: roughness * green.mean };
}

const isEven = ({ spread }: ChannelFacts) => spread <= EVEN_SPREAD;

function findReason(survey: Survey, material: SurveyedMaterial, metal: Metal): string | null {
  if (metal.mean <= NO_METAL) return null;
  const word = readMaterialWord(material.name) ?? readNodeWords(material.nodes);
  if (word === 'metal') return null;
  // a map that tells parts apart may hold the screws of a wooden part; only where most of it is metal is it wrong
  if (word === 'other') return metal.even || metal.mean > 0.5 ? 'but its name or its parts speak of no metal' : null;
  if (!metal.even || metal.mean < ALL_METAL || metal.roughness < MATT) return null;
  if (metal.roughness >= DEFAULT_ROUGHNESS) {
    return 'and as matt as where an exporter wrote neither metalness nor roughness: both are then 1 by default';
  }
  return looksLikeMetal(survey, material) ? null : 'but has a colour or a pattern that no bare metal has';
}

function readNodeWords(nodes: readonly string[]): 'metal' | 'other' | null {
  const words = nodes.map(readMaterialWord);
  if (words.includes('metal')) return 'metal';
  return words.includes('other') ? 'other' : null;
}

function looksLikeMetal(survey: Survey, { factors, ...material }: SurveyedMaterial): boolean {
  const content = findImage(survey, { factors, ...material }, COLOUR_MAP)?.content;
  if (content && content.colour.deltaE > PATTERN_DELTA_E) return false;
  const mean = content?.linearMean ?? [1, 1, 1];
  const linear: LinearRgb = [
    factors.baseColor[0] * mean[0],
    factors.baseColor[1] * mean[1],
    factors.baseColor[2] * mean[2],
  ];
  const codes = linear.map((channel) => encodeSrgb(channel) * 255);
  const [red, green, blue] = codes as [number, number, number];
  const lightness = encodeSrgb(luminance(linear)) * 255;
  if (Math.max(...codes) - Math.min(...codes) <= NEUTRAL_SPREAD) return lightness >= METAL_LIGHTNESS.neutral;
  // gold, brass, copper and bronze go from red to blue in falling order
  return red >= green && green >= blue && lightness >= METAL_LIGHTNESS.coloured;
}
