import { fitToGamut } from '../colour/gamut.ts';
import { type Lab, labToLinear, linearToLab } from '../colour/lab.ts';
import { decodeSrgb, hexToLinear, type LinearRgb, linearToHex } from '../colour/srgb.ts';
import { changeSupplied, type SuppliedChange } from './change-supplied.ts';
import { FAMILY_DEFAULTS } from './families.ts';
import type { Article, ColourSpecification, Finish, FinishMaps, Tile } from './finish.ts';

/** A finish with every default filled in: all that a material is made from, in glTF's terms and linear light. */
export interface ResolvedFinish {
  readonly finish: string;
  readonly name: string;
  /** Linear RGB 0–1 (BT.709), unrounded. */
  readonly baseColour: LinearRgb;
  readonly roughness: number;
  readonly metalness: 0 | 1;
  readonly clearcoat: number;
  readonly clearcoatRoughness: number;
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
  /** ΔE00 between the specified colour and the nearest one sRGB can carry; 0 inside the gamut. */
  readonly outOfGamutDeltaE: number;
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
  const specified = specifiedLinear(finish.colour);
  const fitted = fitToGamut(specified);
  const supplied = finish.supplied?.file ?? null;
  // a supplied material brings its own maps
  const maps = supplied !== null ? {} : { ...article?.maps, ...finish.maps };
  const sheen = finish.sheen !== undefined ? finish.sheen : article?.sheen;
  const says = finish.supplied?.says;
  const roughness = finish.roughness ?? says?.roughness ?? article?.roughness ?? defaults.roughness;
  const metalness = (finish.metal ?? says?.metal ?? article?.metal ?? defaults.metal) ? 1 : 0;
  const hex = linearToHex(fitted.rgb);
  return {
    finish: finish.finish,
    name: finish.name,
    baseColour: fitted.rgb,
    roughness,
    metalness,
    clearcoat: finish.clearcoat ?? article?.clearcoat ?? defaults.clearcoat,
    clearcoatRoughness: finish.clearcoatRoughness ?? article?.clearcoatRoughness ?? defaults.clearcoatRoughness,
    sheen:
      sheen === undefined
        ? defaults.sheen && { colour: lighten(fitted.rgb, defaults.sheen.share), roughness: defaults.sheen.roughness }
        : sheen && { colour: hexToLinear(sheen.colour), roughness: sheen.roughness },
    transmission: finish.transmission ?? article?.transmission ?? defaults.transmission ?? 0,
    ior: finish.ior ?? article?.ior ?? defaults.ior,
    maps,
    tile: Object.values(maps).some(Boolean) ? (finish.tile ?? article?.tile ?? DEFAULT_TILE) : null,
    hex,
    specifiedLab: linearToLab(specified),
    outOfGamutDeltaE: fitted.deltaE,
    supplied,
    suppliedChange: finish.supplied
      ? changeSupplied(finish.supplied, { hex, rgb: fitted.rgb }, roughness, metalness)
      : null,
  };
}

/** The specified colour in linear sRGB, not cut to 0–1. */
export function specifiedLinear(colour: ColourSpecification): LinearRgb {
  return 'hex' in colour ? hexToLinear(colour.hex) : labToLinear(colour.lab, colour.illuminant);
}

/** A sheen a little lighter than the cloth: `share` of its colour, on top of 1 % white. */
function lighten(rgb: LinearRgb, share: number): LinearRgb {
  const floor = decodeSrgb(0.1);
  const of = (channel: number) => Math.min(1, floor + channel * share);
  return [of(rgb[0]), of(rgb[1]), of(rgb[2])];
}
