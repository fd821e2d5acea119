import { deltaE2000, fitToGamut, hexToLab, type Lab, linearToLab } from '../colour/lab.ts';
import { type SpecifiedColour, specifyColour } from '../colour/specify-colour.ts';
import { decodeSrgb, hexToLinear, type LinearRgb, linearToHex, luminance } from '../colour/srgb.ts';
import { FAMILY_DEFAULTS } from './families.ts';
import type {
  Article,
  ColourSource,
  ColourSpecification,
  Family,
  Finish,
  FinishMaps,
  GlossReading,
  Surface,
  Tile,
} from './finish.ts';
import { type CodeCounts, keepMap, type LevelledMap, levelMap, meanOf } from './level-map.ts';
import { type ResolvedGloss, type ResolvedShading, resolveGloss, resolveShading } from './resolve-surface.ts';
import { changeSupplied, type SuppliedChange } from './supplied-material.ts';

/** A finish with all defaults filled in: everything that determines a material, in glTF's terms and linear light. */
export interface ResolvedFinish extends ResolvedShading, ResolvedGloss {
  readonly finish: string;
  readonly name: string;
  /** Decides the direction on a slot without a setting. */
  readonly family: Family;
  /**
   * The colour of the surface: linear RGB 0–1 (BT.709), unrounded. With a colour map it is the target area mean, and
   * `levelled` has the factor that brings the map to it.
   */
  readonly baseColour: LinearRgb;
  /** Whether that is the specified colour or the mean of the colour map; `specification` without a colour map. */
  readonly colourFrom: ColourSource;
  /** The specified colour, as received; null if only the map has a colour. */
  readonly specification: ColourSpecification | null;
  /** How the colour map is levelled; null without one, or if it could not be measured. */
  readonly levelled: LevelledMap | null;
  /**
   * The delivered colour; null if the colour map could not be measured, or if a supplied material has no stored values.
   */
  readonly delivered: DeliveredColour | null;
  readonly metalness: 0 | 1;
  readonly clearcoat: number;
  /** Sheen colour in linear RGB. */
  readonly sheen: { readonly colour: LinearRgb; readonly roughness: number } | null;
  readonly transmission: number;
  readonly ior: number;
  readonly maps: FinishMaps;
  /** Absent when the finish has no maps. */
  readonly tile: Tile | null;
  /** `baseColour` as 8-bit sRGB, the colour of a chip. */
  readonly hex: string;
  /** CIE Lab, D65, 2°, of the specified colour, or of the colour map's mean if none was specified. */
  readonly specifiedLab: Lab;
  /** CIE Lab, D65, 2°, for searching and display: the specified colour, or the mean of the map that supplies it. */
  readonly colourLab: Lab;
  /** The same as read, including the surface reflection; null if no reflection was removed. */
  readonly includedLab: Lab | null;
  /** Possible error of an estimated colour, as ΔE00; null if the specification is exact. */
  readonly estimated: SpecifiedColour['estimated'];
  /** ΔE00 between the specified colour and the nearest one in sRGB; 0 inside the gamut. */
  readonly outOfGamutDeltaE: number;
  /** ΔE00 between the specified colour and the chip, including the rounding to 8 bits. */
  readonly chipDeltaE: number;
  /** ΔE00 between the specified colour and the approved screen colour; null without one. */
  readonly displayDeltaE: number | null;
  /** Digest of the supplied material that is delivered instead of all the above; null for other finishes. */
  readonly supplied: string | null;
  /** Changes to that material; null if it is delivered verbatim. */
  readonly suppliedChange: SuppliedChange | null;
}

/** The area mean of the delivered surface, factor × colour map, in linear light. Ignores clearcoat and sheen on top. */
export interface DeliveredColour {
  /** CIE Lab, D65, 2°. */
  readonly lab: Lab;
  /** The same, rounded to 8-bit sRGB. */
  readonly hex: string;
  /** ΔE00 from the specified colour. */
  readonly deltaE: number;
}

/** Counts of each code in a colour map, by its digest; null if the image could not be measured, like KTX2. */
export type RecallCodes = (sha256: string) => CodeCounts | null;

/** One repeat of maps without a stated size: a hand's breadth, common for cloth samples. */
const DEFAULT_TILE: Tile = { widthMm: 100, heightMm: 100, grainDegrees: 0 };

/**
 * Fills in a finish from its article, then from its family. Pure: the same finish, article and maps give the same
 * result.
 * @param recallCodes when absent, colour maps count as not measured
 */
export function resolveFinish(
  finish: Finish,
  article: Article | null,
  recallCodes: RecallCodes = () => null,
): ResolvedFinish {
  const defaults = FAMILY_DEFAULTS[finish.family];
  const supplied = finish.supplied?.file ?? null;
  const maps = findMaps(finish, article);
  const sheen = finish.sheen !== undefined ? finish.sheen : article?.sheen;
  const transmission = finish.transmission ?? article?.transmission ?? defaults.transmission ?? 0;
  const says = finish.supplied?.says;
  const metalness = (finish.metal ?? says?.metal ?? article?.metal ?? defaults.metal) ? 1 : 0;
  const ior = finish.ior ?? article?.ior ?? defaults.ior;
  const codes = maps.colour === undefined ? null : recallCodes(maps.colour);
  const colour = resolveColour(finish, maps.colour !== undefined, codes, { metal: metalness === 1, ior });
  const { specified, fitted, specifiedLab, baseColour } = colour;
  const clearcoat = finish.clearcoat ?? article?.clearcoat ?? defaults.clearcoat;
  const { roughness, ...shine } = resolveGloss(findReading(finish, article, clearcoat > 0), {
    family: finish.family,
    textured: isTextured(finish),
    metal: metalness === 1,
    transparent: transmission > 0,
    hasMaps: Boolean(maps.normal || maps.roughness),
    ior,
    luminance: luminance(baseColour),
    clearcoat,
    roughness: finish.roughness ?? says?.roughness ?? article?.roughness ?? defaults.roughness,
    clearcoatRoughness: finish.clearcoatRoughness ?? article?.clearcoatRoughness ?? defaults.clearcoatRoughness,
  });
  const hex = linearToHex(baseColour);
  const isKnown = maps.colour === undefined ? !finish.supplied || finish.supplied.says : codes;
  return {
    finish: finish.finish,
    name: finish.name,
    family: finish.family,
    baseColour,
    colourFrom: colour.from,
    specification: colour.specification,
    levelled: colour.levelled,
    delivered: isKnown ? describeDelivered(colour.levelled?.mean ?? baseColour, specifiedLab) : null,
    roughness,
    metalness,
    clearcoat,
    ...shine,
    sheen:
      sheen === undefined
        ? defaults.sheen && { colour: lighten(baseColour, defaults.sheen.share), roughness: defaults.sheen.roughness }
        : sheen && { colour: hexToLinear(sheen.colour), roughness: sheen.roughness },
    transmission,
    ior,
    ...resolveShading(finish, article, transmission),
    maps,
    tile: Object.values(maps).some(Boolean) ? (finish.tile ?? article?.tile ?? DEFAULT_TILE) : null,
    hex,
    specifiedLab,
    colourLab: colour.from === 'map' ? linearToLab(baseColour) : specifiedLab,
    includedLab: specified?.included ?? null,
    estimated: specified?.estimated ?? null,
    outOfGamutDeltaE: fitted?.deltaE ?? 0,
    chipDeltaE: deltaE2000(specifiedLab, hexToLab(hex)),
    displayDeltaE: finish.display ? deltaE2000(specifiedLab, hexToLab(finish.display.hex)) : null,
    supplied,
    suppliedChange: finish.supplied
      ? changeSupplied(finish.supplied, { hex, rgb: baseColour }, roughness, metalness)
      : null,
  };
}

/** The maps of a finish: its own, then those of its article. A supplied material has its own. */
export function findMaps({ maps, supplied }: Pick<Finish, 'maps' | 'supplied'>, article: Article | null): FinishMaps {
  return supplied ? {} : { ...article?.maps, ...maps };
}

/** The factor for the colour map. A map that could not be measured counts as white, and a finding reports it. */
export function findMapFactor({
  levelled,
  colourFrom,
  baseColour,
}: Pick<ResolvedFinish, 'levelled' | 'colourFrom' | 'baseColour'>): LinearRgb {
  return levelled?.factor ?? (colourFrom === 'map' ? WHITE : baseColour);
}

/** Finds the source of the surface's colour, and the colour. */
function resolveColour(
  finish: Finish,
  hasMap: boolean,
  codes: CodeCounts | null,
  surface: Parameters<typeof specifyColour>[1],
) {
  const { from, colour: specification } = chooseColourSource(finish, hasMap, codes);
  const specified = specification && specifyColour(specification, surface);
  const fitted = specified && fitToGamut(specified.rgb);
  const asked = fitted?.rgb ?? WHITE;
  const levelled = codes && (from === 'map' ? keepMap(codes) : levelMap(asked, codes));
  const baseColour = from === 'map' ? (levelled?.mean ?? asked) : asked;
  const specifiedLab = specified?.lab ?? linearToLab(baseColour);
  return { from, specification, specified, fitted, levelled, baseColour, specifiedLab };
}

/** For a finish without a colour whose map could not be measured. */
const WHITE: LinearRgb = [1, 1, 1];

function describeDelivered(rgb: LinearRgb, specified: Lab): DeliveredColour {
  const lab = linearToLab(rgb);
  return { lab, hex: linearToHex(rgb), deltaE: deltaE2000(specified, lab) };
}

/**
 * The gloss reading that takes precedence over a roughness. A roughness takes precedence over a reading at the same
 * level, and a finish over its article.
 * @param coated whether the reading is of a clearcoat
 */
function findReading(finish: Finish, article: Article | null, coated: boolean): GlossReading | undefined {
  const says = ({ roughness, clearcoatRoughness }: Surface) => (coated ? clearcoatRoughness : roughness) !== undefined;
  if (says(finish) || finish.supplied) return undefined;
  if (finish.gloss) return finish.gloss;
  return article && !says(article) ? article.gloss : undefined;
}

/** Whether the maker's reference names a texture; “smooth” does not count. */
function isTextured({ reference }: Finish): boolean {
  return reference?.texture !== undefined && !/^\s*(smooth|none|glatt|)\s*$/i.test(reference.texture);
}

/** A sheen slightly lighter than the cloth: `share` of its colour, added to 1 % white. */
function lighten(rgb: LinearRgb, share: number): LinearRgb {
  const floor = decodeSrgb(0.1);
  const of = (channel: number) => Math.min(1, floor + channel * share);
  return [of(rgb[0]), of(rgb[1]), of(rgb[2])];
}

/** A colour closer to the map's own mean than this equals it: the difference is invisible. */
const SAME_DELTA_E = 0.5;

/**
 * Decides the source of a finish's colour: its own setting, or else the map if no other colour is given. White beside a
 * colour map counts as no colour, because tools write white if the map has the colour.
 * @returns the source, and the specified colour; null if there is none
 */
export function chooseColourSource(
  { colour, colourFrom }: Pick<Finish, 'colour' | 'colourFrom'>,
  hasMap: boolean,
  codes: CodeCounts | null,
): { readonly from: ColourSource; readonly colour: ColourSpecification | null } {
  if (!hasMap || colourFrom === 'specification') return { from: 'specification', colour: colour ?? null };
  const isWhite = colour !== undefined && 'hex' in colour && colour.hex === '#ffffff';
  if (colour === undefined || isWhite) return { from: 'map', colour: null };
  if (colourFrom === 'map' || (codes && isOwn(colour, codes))) return { from: 'map', colour };
  return { from: 'specification', colour };
}

/** Only a colour in screen terms can be copied from a map. */
function isOwn(colour: ColourSpecification, codes: CodeCounts): boolean {
  if (!('hex' in colour)) return false;
  const mean = meanOf(codes);
  if (colour.hex === linearToHex(mean)) return true;
  return deltaE2000(linearToLab(hexToLinear(colour.hex)), linearToLab(mean)) < SAME_DELTA_E;
}

/**
 * The fields of a resolved finish that affect its look. A new field does not compile until it is classified. Purely
 * descriptive fields are false: names, the certainty or distance of a figure, and the words of the gloss verdict, whose
 * roughness is already included.
 */
const MAKES_LOOK = {
  finish: false,
  name: false,
  // The placement on a slot is stored separately.
  family: false,
  baseColour: true,
  levelled: true,
  colourFrom: false,
  specification: false,
  colourLab: false,
  delivered: false,
  roughness: true,
  metalness: true,
  clearcoat: true,
  clearcoatRoughness: true,
  sheen: true,
  transmission: true,
  ior: true,
  volume: true,
  specular: true,
  anisotropy: true,
  iridescence: true,
  emissive: true,
  maps: true,
  tile: true,
  supplied: true,
  suppliedChange: true,
  specifiedLab: false,
  hex: false,
  includedLab: false,
  estimated: false,
  outOfGamutDeltaE: false,
  chipDeltaE: false,
  displayDeltaE: false,
  gloss: false,
  gu60: false,
} as const satisfies Record<keyof ResolvedFinish, boolean>;

/**
 * The properties of a finish that its pictures depend on. A new name or screen colour does not require a new picture.
 */
export function toLook(resolved: ResolvedFinish): Readonly<Record<string, unknown>> {
  const seen = Object.entries(resolved).filter(([field]) => MAKES_LOOK[field as keyof ResolvedFinish]);
  // A missing direction is 0.
  const tile = resolved.tile && { ...resolved.tile, grainDegrees: resolved.tile.grainDegrees ?? 0 };
  return { ...Object.fromEntries(seen), tile };
}
