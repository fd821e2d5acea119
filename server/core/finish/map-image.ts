import type { ChannelFacts } from '../product/survey.ts';
import type { FinishMaps } from './finish.ts';
import type { CodeCounts } from './level-map.ts';

export type ImageMimeType = 'image/png' | 'image/jpeg' | 'image/webp' | 'image/ktx2';

/** What an image is, by its first bytes; null for anything that is not taken (SVG among them). */
export function sniffImage(bytes: Uint8Array): ImageMimeType | null {
  const starts = (...codes: number[]) => codes.every((code, i) => bytes[i] === code);
  if (starts(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)) return 'image/png';
  if (starts(0xff, 0xd8, 0xff)) return 'image/jpeg';
  if (starts(0x52, 0x49, 0x46, 0x46) && String.fromCharCode(...bytes.subarray(8, 12)) === 'WEBP') return 'image/webp';
  if (starts(0xab, 0x4b, 0x54, 0x58, 0x20, 0x32, 0x30, 0xbb)) return 'image/ktx2';
  return null;
}

/** An ICC profile embedded in an image. */
export interface ImageProfile {
  /** As its author calls it; null without a name. */
  readonly name: string | null;
  /** Whether it does what sRGB does, whatever its name. */
  readonly isSrgb: boolean;
}

/** How an uploaded image states its colours, and what stands in for it as a colour map. */
export interface ImageEncoding {
  /** Null without an embedded profile: the codes are sRGB, as in any glTF image. */
  readonly profile: ImageProfile | null;
  readonly bitsPerChannel: 8 | 16;
  /** SHA-256 of the same image in 8-bit sRGB, which finishes use as colour map in its place; null where it serves itself. */
  readonly asColour: string | null;
  /** Share of texels, 0–1, whose colour lies outside sRGB and was cut to it; null where nothing was converted, or counted. */
  readonly outside: number | null;
}

/** What a conversion to sRGB comes to. */
export interface ConvertedColour {
  readonly profile: ImageProfile;
  /** PNG of 8-bit sRGB without a profile; null where the image needs no conversion, or its profile cannot be followed. */
  readonly png: Uint8Array | null;
  /** As in `ImageEncoding`. */
  readonly outside: number | null;
}

/** What the maps of a finish are used as. */
export type MapUse = keyof FinishMaps;

/** How a map meets itself where it repeats, across one pair of its edges. Steps are means over texels and colours, 0–1. */
export interface Seam {
  /** From the last column (or row) to the first: what the repeat shows. */
  readonly step: number;
  /** Mean step between neighbouring columns (or rows) inside. */
  readonly inner: number;
  /** Largest such step: the strongest straight edge inside. */
  readonly strongest: number;
}

/**
 * Raised when measuring a map says more than before, or says it otherwise: stored facts are measured again. Since 2 that an
 * image has facts says that a browser decodes it.
 */
export const MAP_FACTS_FORMAT = 2;

/** What is in an uploaded map, measured texel by texel in its own encoding, 0–1. */
export interface MapFacts {
  readonly content: {
    /** Mean of red, green and blue in linear light, read as sRGB. */
    readonly linearMean: readonly [number, number, number];
    /** How often each code occurs, over every texel: what the map is levelled by. */
    readonly codes: CodeCounts;
    /** Red, green, blue, and alpha where there is one; grey images have three alike. */
    readonly channels: readonly Omit<ChannelFacts, 'spread'>[];
    /** Red, green and blue of every texel within four codes of each other. */
    readonly grey: boolean;
    /** Any texel less opaque than another. */
    readonly alphaVaries: boolean;
    /** Every texel within two codes of every other, alpha apart. */
    readonly constant: boolean;
    /** Read as a normal map: share of texels of about unit length, and of those that point out of the surface. */
    readonly normal: { readonly unit: number; readonly outward: number };
  };
  /** Left to right and top to bottom; null where the image has but one column, or row. */
  readonly seams: { readonly leftRight: Seam | null; readonly topBottom: Seam | null };
}
