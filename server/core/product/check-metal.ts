import { encodeSrgb, type LinearRgb, luminance } from '../colour/srgb.ts';
import { labelMaterial, PLACES } from '../texts/format-text.ts';
import type { MetalDoubt } from '../texts/model-findings.ts';
import { type Finding, makeFinding } from './finding.ts';
import { COLOUR_MAP, findImage, hasMap, METAL_MAP, type ModelFacts, pointerOf } from './model-facts.ts';
import type { ChannelFacts, Survey, SurveyedMaterial } from './survey.ts';

/** Metalness up to here counts as none: compression leaves this much in a map. */
const NO_METAL = 0.1;
/** From here, the part counts as metal all over. */
const ALL_METAL = 0.9;
/** A channel with a smaller spread is even, apart from compression. */
const EVEN_SPREAD = 0.03;
/** Bare metal is never this matt. 1 is glTF's own default, which applies if an exporter wrote nothing. */
const DEFAULT_ROUGHNESS = 0.95;
const MATT = 0.5;
/** Beyond this ΔE*ab, the pattern of a colour map is print, weave or grain. Bare metal has no pattern. */
const PATTERN_DELTA_E = 5;

/**
 * Lightness of the base colour of metals: Filament's material guide gives 170–255 in sRGB. Neutral greys pass from 100,
 * because brushed and cast metals are often drawn darker. Both are sRGB codes.
 */
const METAL_LIGHTNESS = { coloured: 170, neutral: 100 } as const;
/** Largest difference between channels of a grey, sRGB codes. */
const NEUTRAL_SPREAD = 25;

/**
 * Finds materials with a metalness that are not metal. Such a part has no colour of its own and only mirrors its
 * surroundings, so wood and cloth look dark and wet. There are two rules, both judgement:
 * 1. The material's name, or else the names of its nodes, mention wood, cloth, leather, plastic and the like, and no
 * metal.
 * 2. No name tells, and the factor alone makes it metal all over, as matt as glTF's default. Exporters that write no
 * `metallicFactor` mean 0 but get 1. Or it is matt, and one factor covers a patterned colour map, which bare metal does
 * not have.
 * The finding is a note without a repair in two cases: a name suggests a non-metal, but colour and gloss are a metal's;
 * or no name tells and the part is matt, with a colour rare for bare metal, or by a map. It may then be rusty or
 * blackened.
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
  /** Factor × mean of the map's blue channel, 0–1. */
  readonly mean: number;
  readonly even: boolean;
  /** Factor × mean of the map's green channel, 0–1. */
  readonly roughness: number;
}

/** Null if the map cannot be read. */
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
    // A map that separates areas may mark the screws of a wooden part. It is wrong only if most of it is metal.
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
  // Nobody chose one factor for a whole atlas of colours. Worn or rusty metal has a map of the metal areas.
  const sure = isPatterned(survey, material) && !hasMap(material, METAL_MAP);
  return { reason: 'matt', sure };
}

function isPatterned(survey: Survey, material: SurveyedMaterial): boolean {
  return (findImage(survey, material, COLOUR_MAP)?.content?.colour.deltaE ?? 0) > PATTERN_DELTA_E;
}

/** Metal if any node name mentions it; another material if at least half of the node names do. */
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
  // From red to blue, the channels of gold, brass, copper and bronze fall.
  return red >= green && green >= blue && lightness >= METAL_LIGHTNESS.coloured;
}

/**
 * Trade words for the material of a part, in English, German, French, Italian, Spanish and Dutch, as lower-case letters
 * without accents. These are everyday words from no published list, and they are hints, not facts. Stems match inside a
 * word, because German and Dutch join words (“Eichenholzfuß”). Short words match only alone, because other words
 * contain them by chance (“rame” in “frame”).
 */
const METAL = {
  stems: words(`metal metall chrom cromo steel stahl staal acier acciaio acero inox brass messing laiton ottone laton
    bronz alumin copper kupfer cuivre cobre koper nickel silver silber argento titan eisen gusseisen zink galvan pewter
    goldleaf blattgold screw schraub hardware hinge rivet zipper buckle mirror spiegel miroir specchio espejo`),
  alone:
    words(`iron fer ferro hierro ijzer gold golden oro goud rame zinc tin alu rvs silver plata bolt bolts weld zip zips
    nail nails chain grommet eyelet`),
};

const OTHER = {
  stems: words(`wood holz legno madera bois eiche rovere walnut nussbaum noyer buche beech hetre faggio
    birch birke maple ahorn kirsch plywood veneer furnier placage melamin laminat fabric textil textiel stoff tissu
    tessuto cloth wool wolle cotton baumwoll coton linen leinen velvet velour velluto terciopelo felt boucle
    upholst polster cushion kissen coussin cuscino cojin bezug leather leder cuir cuero plastic plasti kunststof
    polyprop polycarb polyamid nylon rubber gummi caoutchouc gomma paper papier papel ceram keram porcel porzel
    concrete beton marble marmor marbre granit stone stein rattan wicker bamboo bambus foam schaum glass
    vetro vidrio verre lampshade`),
  alone:
    words(`oak roble chene carta cork samt pelle ash esche pine fir teak mdf hdf hout eik kork cane rush seagrass lin lino lana laine wol tela tuch
    toile stof filz leer skai vinyl pvc abs pp pom silicone silikon glas clay terracotta pietra piedra plaster`),
};

/** Words in a name that describe neither the material nor the part. */
const NO_WORDS = new Set(words('mat material mtl shader default surface the'));

/**
 * The kind of material a name mentions; null for none or an unknown one. A metal wins over another material beside it.
 * @param prefix words to ignore, from `findPrefix`
 */
export function readMaterialWord(name: string, prefix: ReadonlySet<string> = new Set()): 'metal' | 'other' | null {
  const tokens = splitName(name);
  const own = tokens.filter((token) => !prefix.has(token));
  const relevant = own.length > 0 ? own : tokens;
  if (speaksOf(relevant, METAL)) return 'metal';
  return speaksOf(relevant, OTHER) ? 'other' : null;
}

/**
 * Words that all names of a model share because they name the product. “velvet” in `GlamVelvetSofa_feet` and
 * `GlamVelvetSofa_legs` says nothing about the feet, since the names share “sofa” as well. Names that share only a
 * material (`Oak light`, `Oak dark`) do mean it.
 */
export function findPrefix(names: readonly string[]): ReadonlySet<string> {
  const [first, ...others] = [...new Set(names)].map(splitName);
  if (!first || others.length === 0) return new Set();
  const shared = first.filter((token) => others.every((tokens) => tokens.includes(token)));
  const namesProduct = shared.some(
    (token) => token.length > 2 && !NO_WORDS.has(token) && !speaksOf([token], METAL) && !speaksOf([token], OTHER),
  );
  return new Set(namesProduct ? shared : []);
}

function splitName(name: string): string[] {
  return (
    name
      .replace(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
      .normalize('NFKD')
      .replace(/\p{M}/gu, '')
      .toLowerCase()
      .split(/[^a-z]+/)
      // “nonmetal” and “metallic paint” name no metal.
      .filter((token) => token !== '' && !/^non-?metal/.test(token))
  );
}

function speaksOf(tokens: readonly string[], { stems, alone }: { stems: readonly string[]; alone: readonly string[] }) {
  return tokens.some((token) => alone.includes(token) || stems.some((stem) => token.includes(stem)));
}

function words(text: string): string[] {
  return text.split(/\s+/);
}
