import { encodeSrgb, type LinearRgb, luminance } from '../colour/srgb.ts';
import { labelMaterial, PLACES } from '../texts/format-text.ts';
import type { MetalDoubt } from '../texts/model-findings.ts';
import { type Finding, makeFinding } from './finding.ts';
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

/**
 * Words by which the trade names what a part is made of, in English, German, French, Italian, Spanish and Dutch, folded to
 * small letters without accents. Everyday words, of no published list; a list of hints, never of facts.
 * Stems are found inside a word, since German and Dutch put words together (“Eichenholzfuß”); short words, which other
 * words hold by chance (“rame” in “frame”), only stand alone.
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

/** Words of a name that say neither what it is nor what it is of. */
const NO_WORDS = new Set(words('mat material mtl shader default surface the'));

/**
 * What a name speaks of; null when it names neither, or nothing known. A metal named beside another material wins.
 * @param prefix words that say nothing here, as `findPrefix` finds them
 */
export function readMaterialWord(name: string, prefix: ReadonlySet<string> = new Set()): 'metal' | 'other' | null {
  const tokens = splitName(name);
  const own = tokens.filter((token) => !prefix.has(token));
  const told = own.length > 0 ? own : tokens;
  if (speaksOf(told, METAL)) return 'metal';
  return speaksOf(told, OTHER) ? 'other' : null;
}

/**
 * Words that all names of a model share when they name the product: “velvet” in `GlamVelvetSofa_feet` and
 * `GlamVelvetSofa_legs` tells nothing of the feet, since “sofa” is shared as well. Names that share a material alone
 * (`Oak light`, `Oak dark`) mean it.
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
      // “nonmetal” and “metallic paint” name no metal
      .filter((token) => token !== '' && !/^non-?metal/.test(token))
  );
}

function speaksOf(tokens: readonly string[], { stems, alone }: { stems: readonly string[]; alone: readonly string[] }) {
  return tokens.some((token) => alone.includes(token) || stems.some((stem) => token.includes(stem)));
}

function words(text: string): string[] {
  return text.split(/\s+/);
}
