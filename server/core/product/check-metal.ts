import { encodeSrgb, type LinearRgb, luminance } from '../colour/srgb.ts';
import type { MetalDoubt } from '../texts/model-findings.ts';
import { labelMaterial, PLACES } from '../texts/place-titles.ts';
import { type Finding, makeFinding } from './finding.ts';
import { findPrefix, readMaterialWord } from './material-words.ts';
import { COLOUR_MAP, findImage, hasMap, METAL_MAP, type ModelFacts, pointerOf } from './model-facts.ts';
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
 * 2. No name tells, and it is metal all over by the factor alone, as matt as glTF's default: exporters that write no
 *    `metallicFactor` mean none, and get 1.
 *    Or it is matt, and one factor lies over a patterned colour map, which bare metal does not have.
 * It is a note, and no repair is proposed, where a name speaks of no metal but colour and gloss are a metal's; and where
 * no name tells and the part is matt, of a colour that bare metal rarely has, or by a map: it may be rusty or blackened.
 */
export function checkMetal({ survey, open, drawn, refer }: ModelFacts): Finding[] {
  const prefixes = {
    materials: findPrefix(drawn.map(({ name }) => name)),
    nodes: findPrefix(drawn.flatMap(({ nodes }) => nodes)),
  };
  return open.flatMap((material) => {
    const metal = readMetal(survey, material);
    const doubt = metal && findDoubt(survey, material, metal, prefixes);
    if (!doubt) return [];
    return [
      makeFinding(
        'metal-on-nonmetal',
        {
          label: labelMaterial(material),
          metalness: metal.mean,
          reason: doubt.reason,
          isSure: doubt.sure,
          looksMetallic: doubt.looksMetallic ?? false,
        },
        {
          where: `${pointerOf(material)}/pbrMetallicRoughness`,
          place: PLACES.material(material),
          seen: metal.mean,
          expected: 0,
          repairs: [{ repair: 'set-nonmetal', materials: [refer(material)] }],
        },
        doubt.sure ? 'warning' : 'note',
      ),
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

interface Prefixes {
  readonly materials: ReadonlySet<string>;
  readonly nodes: ReadonlySet<string>;
}

function findDoubt(
  survey: Survey,
  material: SurveyedMaterial,
  metal: Metal,
  prefixes: Prefixes,
): { readonly reason: MetalDoubt; readonly sure: boolean; readonly looksMetallic?: boolean } | null {
  if (metal.mean <= NO_METAL) return null;
  const own = readMaterialWord(material.name, prefixes.materials);
  const word = own ?? readNodeWords(material.nodes, prefixes.nodes);
  if (word === 'metal') return null;
  if (word === 'other') {
    // a map that tells parts apart may hold the screws of a wooden part; only where most of it is metal is it wrong
    if (!metal.even && metal.mean <= 0.5) return null;
    const reason = own ? 'name' : 'part-names';
    return metal.roughness < MATT && looksLikeMetal(survey, material)
      ? { reason, sure: false, looksMetallic: true }
      : { reason, sure: true };
  }
  if (!metal.even || metal.mean < ALL_METAL || metal.roughness < MATT) return null;
  if (metal.roughness >= DEFAULT_ROUGHNESS && !hasMap(material, METAL_MAP)) {
    return { reason: 'defaults', sure: true };
  }
  if (looksLikeMetal(survey, material)) return null;
  // one factor over a whole atlas of colours was not chosen: metal that is worn or rusty has a map of where it is
  const sure = isPatterned(survey, material) && !hasMap(material, METAL_MAP);
  return { reason: 'matt', sure };
}

function isPatterned(survey: Survey, material: SurveyedMaterial): boolean {
  return (findImage(survey, material, COLOUR_MAP)?.content?.colour.deltaE ?? 0) > PATTERN_DELTA_E;
}

/** Metal where any node speaks of it; another material where at least half of them do. */
function readNodeWords(nodes: readonly string[], prefix: ReadonlySet<string>): 'metal' | 'other' | null {
  const words = nodes.map((node) => readMaterialWord(node, prefix));
  if (words.includes('metal')) return 'metal';
  const others = words.filter((word) => word === 'other').length;
  return others > 0 && others >= nodes.length / 2 ? 'other' : null;
}

function looksLikeMetal(survey: Survey, { factors, ...material }: SurveyedMaterial): boolean {
  const content = findImage(survey, { factors, ...material }, COLOUR_MAP)?.content;
  if (isPatterned(survey, { factors, ...material })) return false;
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
