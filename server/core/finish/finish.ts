import { Problem } from '../problems.ts';
import { FINISH_PROBLEMS } from '../texts/problems/finish.ts';
import type { MetalName } from './metals.ts';

/** Kinds of finish. Each has documented defaults in `families.ts`. */
export const FAMILIES = [
  'paint',
  'powder-coat',
  'anodised',
  'plated',
  'bare-metal',
  'wood',
  'textile',
  'leather',
  'plastic',
  'glass',
  'stone',
  'ceramic',
  'paper',
] as const;
export type Family = (typeof FAMILIES)[number];

/** Status of a finish in a range, in the order of its life cycle. */
export const RANGE_STATUSES = ['planned', 'current', 'phase-out', 'discontinued'] as const;
export type RangeStatus = (typeof RANGE_STATUSES)[number];

/**
 * Measuring geometry (CIE 15): `di:8` includes the surface reflection, `de:8` excludes it, `45:0` never sees it. An
 * included reflection is removed before the reading becomes a base colour, because the renderer adds it again.
 */
export const GEOMETRIES = ['di:8', 'de:8', '45:0'] as const;
export type Geometry = (typeof GEOMETRIES)[number];

export const ILLUMINANTS = ['D50', 'D65'] as const;
export type Illuminant = (typeof ILLUMINANTS)[number];

/** CIE 1931 (2°) and CIE 1964 (10°) standard observers. */
export const OBSERVERS = ['2deg', '10deg'] as const;
export type Observer = (typeof OBSERVERS)[number];

/** Reflectance factors 0–1 at even steps of wavelength. */
export interface Spectrum {
  readonly startNm: number;
  readonly stepNm: number;
  readonly values: readonly number[];
}

/**
 * Source of the colour of a finish with a colour map. `specification`: the map gives the pattern and is levelled so
 * that its mean is the specified colour. `map`: the mean of the map is the colour.
 */
export const COLOUR_SOURCES = ['specification', 'map'] as const;
export type ColourSource = (typeof COLOUR_SOURCES)[number];

/** The conditions of a reading, without which its figures have no meaning. */
export interface Viewing {
  readonly illuminant: Illuminant;
  readonly observer: Observer;
  readonly geometry?: Geometry;
}

/**
 * A colour as the maker states it: sRGB hex (IEC 61966-2-1); CIE L*a*b* or XYZ (Y of the white is 100), which need
 * illuminant and observer; or reflectance by wavelength, from which all other values follow.
 */
export type ColourSpecification =
  | { readonly hex: string }
  | ({ readonly lab: readonly [number, number, number] } & Viewing)
  | ({ readonly xyz: readonly [number, number, number] } & Viewing)
  | { readonly spectrum: Spectrum; readonly geometry?: Geometry };

/** Maps of a finish by digest (SHA-256, hex) of an uploaded image. */
export interface FinishMaps {
  /** Base colour, 8-bit sRGB. It gives the pattern, and the colour too if `colourFrom` is `map`. */
  readonly colour?: string;
  /** Tangent space, linear, +Y up. */
  readonly normal?: string;
  /** Linear. The green channel is the roughness, and is multiplied by `roughness`. */
  readonly roughness?: string;
}

/** Size of one repeat of the maps, in mm, and the direction of the grain in degrees, counter-clockwise. */
export interface Tile {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly grainDegrees?: number;
}

/** Sheen of cloth: colour as sRGB hex, roughness 0–1 (`KHR_materials_sheen`). */
export interface Sheen {
  readonly colour: string;
  readonly roughness: number;
}

/**
 * Gloss units by ISO 2813: 60° in general, 20° for high gloss, 85° for matt; given at one or several angles. Words such
 * as satin differ by supplier, so only the units count.
 */
export interface GlossReading {
  readonly gu20?: number;
  readonly gu60?: number;
  readonly gu85?: number;
}

/**
 * An absorbing body of glass or clear plastic (`KHR_materials_volume`). It needs `transmission` and a closed part. A
 * path of x mm leaves `attenuationColour ^ (x / attenuationDistanceMm)`, channel by channel in linear light.
 */
export interface Volume {
  /** True thickness of the wall, mm. */
  readonly thicknessMm: number;
  /** sRGB hex: the colour of white light after `attenuationDistanceMm`. */
  readonly attenuationColour: string;
  readonly attenuationDistanceMm: number;
}

/** Strength of the reflection of a non-metal, 0–1, and its tint as sRGB hex, white when absent (`KHR_materials_specular`). */
interface Specular {
  readonly factor: number;
  readonly colour?: string;
}

/**
 * Brushing (`KHR_materials_anisotropy`): strength 0–1, and the direction in which the highlight stretches, in degrees
 * counter-clockwise from +U. The directions of the tile and of the slot are added.
 */
interface Anisotropy {
  readonly strength: number;
  readonly rotationDegrees: number;
}

/** A thin film (`KHR_materials_iridescence`): factor 0–1, index of the film, thickness in nanometres. */
export interface Iridescence {
  readonly factor: number;
  /** Index of refraction of the film, 1–2.5; 1.3 when absent, as in glTF. */
  readonly ior?: number;
  /** Thickness where a thickness map is black, 100 when absent. Without such a map, the maximum applies everywhere. */
  readonly thicknessMinNm?: number;
  /** 400 when absent. */
  readonly thicknessMaxNm?: number;
}

/**
 * Emitted light (`KHR_materials_emissive_strength`): colour as sRGB hex, multiplied by `strength` from 0. In viewers
 * without physical units, 1 is as bright as white paper under the light of the scene.
 */
interface Emissive {
  readonly colour: string;
  readonly strength: number;
}

/**
 * Properties of the surface, apart from its colour. Each has a default by family; null removes the value of the article
 * or the family.
 */
export interface Surface {
  /** glTF perceptual roughness, 0–1; takes precedence over a gloss reading. */
  readonly roughness?: number;
  readonly gloss?: GlossReading;
  readonly metal?: boolean;
  /** Metal in the table of `metals.ts` whose colour is compared with this finish. */
  readonly metalName?: MetalName;
  /** 0–1 (`KHR_materials_clearcoat`). */
  readonly clearcoat?: number;
  /** glTF perceptual roughness of the coat, 0–1. */
  readonly clearcoatRoughness?: number;
  readonly sheen?: Sheen | null;
  /** 0–1 (`KHR_materials_transmission`). */
  readonly transmission?: number;
  readonly volume?: Volume | null;
  /** Index of refraction, 1–2.5 (`KHR_materials_ior`). */
  readonly ior?: number;
  readonly specular?: Specular | null;
  readonly anisotropy?: Anisotropy | null;
  readonly iridescence?: Iridescence | null;
  readonly emissive?: Emissive | null;
  readonly maps?: FinishMaps;
  readonly tile?: Tile;
}

/** Properties that finishes of one material share, such as one cloth in many colours. */
export interface Article extends Surface {
  readonly article: string;
  readonly name: string;
  readonly family: Family;
  readonly composition?: string;
  /** Threads per centimetre of a cloth, across the width of its repeat. They decide how fine a picture must be. */
  readonly threadsPerCm?: number;
  /**
   * Finishes that follow this cloth at other positions of a line (thread, piping, zip): position key to finish code.
   */
  readonly companions?: Companions;
}

export type Companions = Readonly<Record<string, string>>;

/** A named surface from a maker, as received. */
export interface Finish extends Surface {
  readonly finish: string;
  readonly name: string;
  readonly names?: Readonly<Record<string, string>>;
  readonly family: Family;
  readonly article?: string;
  readonly reference?: { readonly system: string; readonly code: string; readonly texture?: string };
  /** The area mean of the surface. Absent if the colour comes from the map. */
  readonly colour?: ColourSpecification;
  /** For a finish with a colour map; when absent, `chooseColourSource` decides. */
  readonly colourFrom?: ColourSource;
  /** Approved screen colour, in addition to the measured colour. */
  readonly display?: { readonly hex: string };
  readonly supplier?: string;
  /** Free text for the people who maintain the library. */
  readonly note?: string;
  readonly tags?: readonly string[];
  readonly status?: RangeStatus;
  /** Take precedence over those of the article, position by position. */
  readonly companions?: Companions;
  readonly supplied?: SuppliedMaterial;
}

/**
 * A material from a model. `file` is the digest (SHA-256, hex) of a stored GLB with only this material and all its
 * extensions, textures, samplers, texture transforms and extras. While a finish has it, deliveries use that material
 * verbatim and keep nothing of the part. Name, family, colour and surface only describe it. If colour, roughness or
 * `metal` of the finish differ from `says`, the material's factors follow the finish and the rest stays. A finish
 * stored without it becomes an ordinary one.
 */
export interface SuppliedMaterial {
  readonly file: string;
  /** Values read from the material on import: factor × mean of the map. When absent, the material stays verbatim. */
  readonly says?: { readonly hex: string; readonly roughness: number; readonly metal: boolean };
}

/** A stored finish: `revision` counts every change, from 1. */
export interface StoredFinish extends Finish {
  readonly revision: number;
}

/** The refusal of a finish that a request names and that does not exist. @param where JSON pointer to its code */
export function noFinish(code: string, where: string): Problem {
  return new Problem('unknown-finish', {
    detail: FINISH_PROBLEMS['unknown-finish'].byCode(code),
    received: code,
    where,
  });
}
