import { hexToLab } from '../colour/delta-e-ab.ts';
import { fitToGamut } from '../colour/gamut.ts';
import { deltaE2000, type Lab } from '../colour/lab.ts';
import { type SpecifiedColour, specifyColour } from '../colour/specify-colour.ts';
import { decodeSrgb, hexToLinear, type LinearRgb, linearToHex, luminance } from '../colour/srgb.ts';
import { changeSupplied, type SuppliedChange } from './change-supplied.ts';
import { FAMILY_DEFAULTS } from './families.ts';
import type { Article, Finish, FinishMaps, GlossReading, Surface, Tile } from './finish.ts';
import { type ResolvedGloss, resolveGloss } from './resolve-gloss.ts';
import { type ResolvedShading, resolveShading } from './resolve-shading.ts';

/** A finish with every default filled in: all that a material is made from, in glTF's terms and linear light. */
export interface ResolvedFinish extends ResolvedShading, ResolvedGloss {
  readonly finish: string;
  readonly name: string;
  /** Linear RGB 0–1 (BT.709), unrounded. */
  readonly baseColour: LinearRgb;
  readonly metalness: 0 | 1;
  readonly clearcoat: number;
  /** Sheen colour in linear RGB. */
  readonly sheen: { readonly colour: LinearRgb; readonly roughness: number } | null;
  readonly transmission: number;
  readonly ior: number;
  readonly maps: FinishMaps;
  /** Absent when the finish has no maps. */
  readonly tile: Tile | null;
  /** The colour as 8-bit sRGB: what a chip shows. */
  readonly hex: string;
  /** CIE Lab, D65, 2°, of what was specified. */
  readonly specifiedLab: Lab;
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

/** One repeat of maps whose size nobody gave: a hand's breadth, common for cloth samples. */
const DEFAULT_TILE: Tile = { widthMm: 100, heightMm: 100, grainDegrees: 0 };

/** Fills in a finish from its article, then from its family. Pure: the same finish and article give the same result. */
export function resolveFinish(finish: Finish, article: Article | null): ResolvedFinish {
  const defaults = FAMILY_DEFAULTS[finish.family];
  const supplied = finish.supplied?.file ?? null;
  // a supplied material brings its own maps
  const maps = supplied !== null ? {} : { ...article?.maps, ...finish.maps };
  const sheen = finish.sheen !== undefined ? finish.sheen : article?.sheen;
  const transmission = finish.transmission ?? article?.transmission ?? defaults.transmission ?? 0;
  const says = finish.supplied?.says;
  const metalness = (finish.metal ?? says?.metal ?? article?.metal ?? defaults.metal) ? 1 : 0;
  const ior = finish.ior ?? article?.ior ?? defaults.ior;
  const specified = specifyColour(finish.colour, { metal: metalness === 1, ior });
  const fitted = fitToGamut(specified.rgb);
  const clearcoat = finish.clearcoat ?? article?.clearcoat ?? defaults.clearcoat;
  const { roughness, ...shine } = resolveGloss(findReading(finish, article, clearcoat > 0), {
    family: finish.family,
    textured: isTextured(finish),
    metal: metalness === 1,
    transparent: transmission > 0,
    hasMaps: Boolean(maps.normal || maps.roughness),
    ior,
    luminance: luminance(fitted.rgb),
    clearcoat,
    roughness: finish.roughness ?? says?.roughness ?? article?.roughness ?? defaults.roughness,
    clearcoatRoughness: finish.clearcoatRoughness ?? article?.clearcoatRoughness ?? defaults.clearcoatRoughness,
  });
  const hex = linearToHex(fitted.rgb);
  return {
    finish: finish.finish,
    name: finish.name,
    baseColour: fitted.rgb,
    roughness,
    metalness,
    clearcoat,
    ...shine,
    sheen:
      sheen === undefined
        ? defaults.sheen && { colour: lighten(fitted.rgb, defaults.sheen.share), roughness: defaults.sheen.roughness }
        : sheen && { colour: hexToLinear(sheen.colour), roughness: sheen.roughness },
    transmission,
    ior,
    ...resolveShading(finish, article, transmission),
    maps,
    tile: Object.values(maps).some(Boolean) ? (finish.tile ?? article?.tile ?? DEFAULT_TILE) : null,
    hex,
    specifiedLab: specified.lab,
    includedLab: specified.included,
    estimated: specified.estimated,
    outOfGamutDeltaE: fitted.deltaE,
    chipDeltaE: deltaE2000(specified.lab, hexToLab(hex)),
    displayDeltaE: finish.display ? deltaE2000(specified.lab, hexToLab(finish.display.hex)) : null,
    supplied,
    suppliedChange: finish.supplied
      ? changeSupplied(finish.supplied, { hex, rgb: fitted.rgb }, roughness, metalness)
      : null,
  };
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
