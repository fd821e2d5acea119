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

/** Status of a finish in a range, in the order a finish lives through them. */
export const RANGE_STATUSES = ['planned', 'current', 'phase-out', 'discontinued'] as const;
export type RangeStatus = (typeof RANGE_STATUSES)[number];

/**
 * How a maker states a colour.
 * `hex` is sRGB (IEC 61966-2-1), `lab` is CIE L*a*b*, which says nothing without its illuminant and observer.
 */
export type ColourSpecification =
  | { readonly hex: string }
  | {
      readonly lab: readonly [number, number, number];
      readonly illuminant: 'D50' | 'D65';
      readonly observer: '2deg';
      /** Measuring geometry, kept as said. Specular-included readings (`di:8`) hold the surface reflection too. */
      readonly geometry?: 'di:8' | 'de:8' | '45:0';
    };

/** Maps of a finish by digest (SHA-256, hex) of an uploaded image. */
export interface FinishMaps {
  /** Base colour, 8-bit sRGB; multiplied by the finish's colour, so a neutral map carries pattern and the factor hue. */
  readonly colour?: string;
  /** Tangent space, linear, +Y up. */
  readonly normal?: string;
  /** Linear; green channel is read as roughness and multiplied by `roughness`. */
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

/** What makes the surface, apart from its colour. Everything has a default by family. */
export interface Surface {
  /** glTF perceptual roughness, 0–1. */
  readonly roughness?: number;
  readonly metal?: boolean;
  /** 0–1 (`KHR_materials_clearcoat`). */
  readonly clearcoat?: number;
  readonly clearcoatRoughness?: number;
  readonly sheen?: Sheen | null;
  /** 0–1 (`KHR_materials_transmission`). */
  readonly transmission?: number;
  /** Index of refraction, 1–2.5 (`KHR_materials_ior`). */
  readonly ior?: number;
  readonly maps?: FinishMaps;
  readonly tile?: Tile;
}

/** What finishes of one material share: one cloth that comes in many colours. */
export interface Article extends Surface {
  readonly article: string;
  readonly name: string;
  readonly family: Family;
  readonly composition?: string;
}

/** A named surface a maker offers, as it was given. */
export interface Finish extends Surface {
  readonly finish: string;
  readonly name: string;
  readonly names?: Readonly<Record<string, string>>;
  readonly family: Family;
  readonly article?: string;
  readonly reference?: { readonly system: string; readonly code: string; readonly texture?: string };
  readonly colour: ColourSpecification;
  readonly display?: { readonly hex: string };
  readonly tags?: readonly string[];
  readonly status?: RangeStatus;
  readonly supplied?: SuppliedMaterial;
}

/**
 * A material as it came with a model: `file` is the digest (SHA-256, hex) of a stored GLB that holds it alone, with all
 * its extensions, textures, samplers, texture transforms and extras. As long as a finish has it, deliveries carry that
 * material verbatim and nothing of the part is put over it; name, family, colour and surface describe it. Where colour,
 * roughness or `metal` of the finish are other than what the material `says`, its factors follow them, and all else stays.
 * A finish stored without it is an ordinary one from then on.
 */
export interface SuppliedMaterial {
  readonly file: string;
  /** Read of the material when it was taken in: factor × mean of the map. Left out, it stays verbatim whatever is said. */
  readonly says?: { readonly hex: string; readonly roughness: number; readonly metal: boolean };
}

/** A stored finish: `revision` counts every change, from 1. */
export interface StoredFinish extends Finish {
  readonly revision: number;
}
