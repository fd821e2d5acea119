import type { ChannelFacts } from '../product/survey.ts';
import type { FinishMaps } from './finish.ts';
import type { CodeCounts } from './level-map.ts';

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
