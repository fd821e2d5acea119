import type { ChannelFacts } from '../product/survey.ts';
import type { FinishMaps } from './finish.ts';
import type { CodeCounts } from './level-map.ts';

/** The types of images that the maps of finishes may have. */
export const MAP_TYPES = ['image/png', 'image/jpeg', 'image/webp', 'image/ktx2'] as const;
export type ImageMimeType = (typeof MAP_TYPES)[number];

/** The type of an image, from its first bytes; null for types that are not accepted (SVG among them). */
export function sniffImage(bytes: Uint8Array): ImageMimeType | null {
  const starts = (...codes: number[]) => codes.every((code, i) => bytes[i] === code);
  if (starts(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)) return 'image/png';
  if (starts(0xff, 0xd8, 0xff)) return 'image/jpeg';
  if (starts(0x52, 0x49, 0x46, 0x46) && String.fromCharCode(...bytes.subarray(8, 12)) === 'WEBP') return 'image/webp';
  if (starts(0xab, 0x4b, 0x54, 0x58, 0x20, 0x32, 0x30, 0xbb)) return 'image/ktx2';
  return null;
}

/** An ICC profile embedded in an image. */
interface ImageProfile {
  /** Its author's name for it; null without one. */
  readonly name: string | null;
  /** Whether it is equivalent to sRGB, whatever its name. */
  readonly isSrgb: boolean;
}

/** How an uploaded image states its colours, and its replacement as a colour map. */
export interface ImageEncoding {
  /** Null without an embedded profile: the codes are sRGB, as in any glTF image. */
  readonly profile: ImageProfile | null;
  readonly bitsPerChannel: 8 | 16;
  /**
   * SHA-256 of the same image in 8-bit sRGB, which finishes use as colour map instead; null if the image itself is
   * usable.
   */
  readonly asColour: string | null;
  /** Share of texels, 0–1, whose colour is outside sRGB and was clipped; null if nothing was converted or counted. */
  readonly outside: number | null;
}

/** The result of a conversion to sRGB. */
export interface ConvertedColour {
  readonly profile: ImageProfile;
  /**
   * PNG of 8-bit sRGB without a profile; null if the image needs no conversion, or if its profile cannot be applied.
   */
  readonly png: Uint8Array | null;
  /** As in `ImageEncoding`. */
  readonly outside: number | null;
}

/** The uses of a finish's maps. */
export type MapUse = keyof FinishMaps;

/**
 * How the edges of a map meet where it repeats, for one pair of edges. Steps are means over texels and colours, 0–1.
 */
export interface Seam {
  /** From the last column (or row) to the first, which the repeat shows. */
  readonly step: number;
  /** Mean step between neighbouring columns (or rows) inside. */
  readonly inner: number;
  /** Largest such step: the strongest straight edge inside. */
  readonly strongest: number;
}

/**
 * Raised when the measurement of maps gains or changes data. Stored facts are then measured again. Since 2, an image
 * with facts can be decoded by a browser.
 */
export const MAP_FACTS_FORMAT = 2;

/** The content of an uploaded map, measured texel by texel in its own encoding, 0–1. */
export interface MapFacts {
  readonly content: {
    /** Mean of red, green and blue in linear light, read as sRGB. */
    readonly linearMean: readonly [number, number, number];
    /** Counts of each code over all texels, used to level the map. */
    readonly codes: CodeCounts;
    /** Red, green, blue, and alpha if present; in grey images the three are equal. */
    readonly channels: readonly Omit<ChannelFacts, 'spread'>[];
    /** In every texel, red, green and blue are within four codes of each other. */
    readonly grey: boolean;
    /** Some texels are more opaque than others. */
    readonly alphaVaries: boolean;
    /** All texels are within two codes of each other, apart from alpha. */
    readonly constant: boolean;
    /** As a normal map: share of texels of about unit length, and share that points out of the surface. */
    readonly normal: { readonly unit: number; readonly outward: number };
  };
  /** Left to right and top to bottom; null if the image has only one column or row. */
  readonly seams: { readonly leftRight: Seam | null; readonly topBottom: Seam | null };
}
