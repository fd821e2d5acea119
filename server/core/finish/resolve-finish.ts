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

/** A finish with every default filled in: all that a material is made from, in glTF's terms and linear light. */
export interface ResolvedFinish extends ResolvedShading, ResolvedGloss {
  readonly finish: string;
  readonly name: string;
  /** It decides how it lies on a slot of which nobody has said so. */
  readonly family: Family;
  /**
   * The colour of the surface: linear RGB 0–1 (BT.709), unrounded. With a colour map it is the area mean the surface is to
   * have, and the factor that brings the map to it is in `levelled`.
   */
  readonly baseColour: LinearRgb;
  /** Whether that is the specified colour or the mean of the colour map; `specification` without a colour map. */
  readonly colourFrom: ColourSource;
  /** The colour it is held against, as it was given; null where the map's own is all there is. */
  readonly specification: ColourSpecification | null;
  /** How the colour map is laid; null without one, and for one that could not be measured. */
  readonly levelled: LevelledMap | null;
  /** What is delivered; null where the colour map could not be measured, or a supplied material says nothing of itself. */
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
  /** `baseColour` as 8-bit sRGB: what a chip shows. */
  readonly hex: string;
  /** CIE Lab, D65, 2°, of what was specified; of the colour map's mean where no colour was. */
  readonly specifiedLab: Lab;
  /** CIE Lab, D65, 2°, by which the finish is found and named: the specified one, or the mean of the map it comes from. */
  readonly colourLab: Lab;
  /** The same as it was read, with the reflection of the surface in it; null where none had to be taken out. */
  readonly includedLab: Lab | null;
  /** How far off an estimated colour may be, as ΔE00; null where the specification is exact. */
  readonly estimated: SpecifiedColour['estimated'];
  /** ΔE00 between the specified colour and the nearest one sRGB can carry; 0 inside the gamut. */
  readonly outOfGamutDeltaE: number;
  /** ΔE00 between the specified colour and the chip: that, and the rounding to 8 bits. */
  readonly chipDeltaE: number;
  /** ΔE00 between the specified colour and the one signed off for screens; null without one. */
  readonly displayDeltaE: number | null;
  /** Digest of the stored material that is delivered as it is in the place of all the above; null for other finishes. */
  readonly supplied: string | null;
  /** What is changed of that material; null when it is delivered to the letter. */
  readonly suppliedChange: SuppliedChange | null;
}

/**
 * The area mean of what is delivered, factor × colour map, in linear light. Clearcoat and sheen lie over it and are left
 * aside.
 */
export interface DeliveredColour {
  /** CIE Lab, D65, 2°. */
  readonly lab: Lab;
  /** The same, rounded to 8-bit sRGB. */
  readonly hex: string;
  /** ΔE00 from the specified colour. */
  readonly deltaE: number;
}

/** How often each code occurs in a colour map, by its digest; null where the image could not be measured, as KTX2. */
export type RecallCodes = (sha256: string) => CodeCounts | null;

/** One repeat of maps whose size nobody gave: a hand's breadth, common for cloth samples. */
const DEFAULT_TILE: Tile = { widthMm: 100, heightMm: 100, grainDegrees: 0 };

/**
 * Fills in a finish from its article, then from its family. Pure: the same finish, article and maps give the same result.
 * @param recallCodes left out, colour maps count as not measured
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

/** The maps a finish is laid with: those of its article, its own before them. A supplied material brings its own. */
export function findMaps({ maps, supplied }: Pick<Finish, 'maps' | 'supplied'>, article: Article | null): FinishMaps {
  return supplied ? {} : { ...article?.maps, ...maps };
}

/** What a colour map is multiplied by. One that could not be measured is laid as if its mean were white; a finding says so. */
export function findMapFactor({
  levelled,
  colourFrom,
  baseColour,
}: Pick<ResolvedFinish, 'levelled' | 'colourFrom' | 'baseColour'>): LinearRgb {
  return levelled?.factor ?? (colourFrom === 'map' ? WHITE : baseColour);
}

/** Where the colour of the surface comes from, and what it is. */
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

/** Of a finish that names no colour and whose map could not be measured. */
const WHITE: LinearRgb = [1, 1, 1];

function describeDelivered(rgb: LinearRgb, specified: Lab): DeliveredColour {
  const lab = linearToLab(rgb);
  return { lab, hex: linearToHex(rgb), deltaE: deltaE2000(specified, lab) };
}

/**
 * The gloss reading that goes before what is said of roughness: a roughness given goes before a reading given beside it,
 * and what a finish says before what its article says.
 * @param coated whether the reading is of a clearcoat
 */
function findReading(finish: Finish, article: Article | null, coated: boolean): GlossReading | undefined {
  const says = ({ roughness, clearcoatRoughness }: Surface) => (coated ? clearcoatRoughness : roughness) !== undefined;
  if (says(finish) || finish.supplied) return undefined;
  if (finish.gloss) return finish.gloss;
  return article && !says(article) ? article.gloss : undefined;
}

/** The maker's word for a texture; “smooth” is none. */
function isTextured({ reference }: Finish): boolean {
  return reference?.texture !== undefined && !/^\s*(smooth|none|glatt|)\s*$/i.test(reference.texture);
}

/** A sheen a little lighter than the cloth: `share` of its colour, on top of 1 % white. */
function lighten(rgb: LinearRgb, share: number): LinearRgb {
  const floor = decodeSrgb(0.1);
  const of = (channel: number) => Math.min(1, floor + channel * share);
  return [of(rgb[0]), of(rgb[1]), of(rgb[2])];
}

/** A colour nearer to the map's own mean than this is the map's own: below it nobody sees a difference. */
const SAME_DELTA_E = 0.5;

/**
 * Decides where the colour of a finish comes from: as it says, else from the map where no colour other than the map's own is
 * given. White beside a colour map is what tools write where the map has the colour, and counts as none.
 * @returns the source, and the colour that was specified; null where none was
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

/** Only colours on the screen's own terms can be copied off a map. */
function isOwn(colour: ColourSpecification, codes: CodeCounts): boolean {
  if (!('hex' in colour)) return false;
  const mean = meanOf(codes);
  if (colour.hex === linearToHex(mean)) return true;
  return deltaE2000(linearToLab(hexToLinear(colour.hex)), linearToLab(mean)) < SAME_DELTA_E;
}

/**
 * Which fields of a resolved finish make its look. A new field does not compile until somebody decides. Left out is what
 * is only said of the finish: its names, how sure or how near a figure is, and the words of the gloss verdict, whose
 * roughness is there already.
 */
const MAKES_LOOK = {
  finish: false,
  name: false,
  // how it lies on a slot stands beside it
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
 * The properties of a finish that pictures of it depend on. A new name or screen colour renders no picture again.
 */
export function toLook(resolved: ResolvedFinish): Readonly<Record<string, unknown>> {
  const seen = Object.entries(resolved).filter(([field]) => MAKES_LOOK[field as keyof ResolvedFinish]);
  // a direction that nobody gave is 0
  const tile = resolved.tile && { ...resolved.tile, grainDegrees: resolved.tile.grainDegrees ?? 0 };
  return { ...Object.fromEntries(seen), tile };
}
