import type { Lab } from '../colour/lab.ts';
import type { ColourSpecification } from '../finish/finish.ts';
import type { DeliveredColour } from '../finish/resolve-finish.ts';
import type { JudgedTolerance } from '../finish/tolerances.ts';
import type { Finding } from '../product/finding.ts';
import type { SwatchKind, SwatchLight } from './picture.ts';

/**
 * Where a swatch is measured: anywhere on a flat one, in the middle of a lit one where it faces the viewer, over a wide
 * disc where a pattern has to be averaged, or over whole repeats of the pattern where the piece is large enough for one.
 */
export type MeasuredWhere = 'flat' | 'facing-centre' | 'mean' | 'whole-repeats';

/** A rectangle of a picture, px from its top left corner; edges need not fall on pixels. */
export interface PixelField {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/** A disc in the middle, by name, or whole repeats. */
export type MeasuredField = Exclude<MeasuredWhere, 'whole-repeats'> | PixelField;

export interface MeasuredColour {
  readonly where: MeasuredWhere;
  readonly hex: string;
  /** CIE Lab, D65, 2°. */
  readonly lab: Lab;
}

/** What a swatch shows, beside what was specified. Lab is CIE Lab under D65 for the 2° observer throughout. */
export interface SwatchDescription {
  readonly finish: string;
  readonly revision: number;
  readonly kind: SwatchKind;
  readonly sizePx: number;
  /** A chip is flat in whichever light is asked for. */
  readonly light: SwatchLight;
  /** Of a panel: width of its piece, and what a millimetre comes to, exactly. Null for shapes without a scale. */
  readonly scale: { readonly widthMm: number; readonly pxPerMm: number } | null;
  readonly specified: {
    readonly lab: Lab;
    readonly illuminant: 'D65';
    readonly observer: '2deg';
    /** Null where sRGB has no such colour. */
    readonly hex: string | null;
    /** Null where the colour comes from the map and none was given. */
    readonly given: ColourSpecification | null;
  };
  /** Area mean of what is delivered; null where it cannot be measured. */
  readonly delivered: DeliveredColour | null;
  /** Read of the picture's own pixels. */
  readonly measured: MeasuredColour;
  /** ΔE00 between specified and measured, to two decimals. */
  readonly deltaE: number;
  /** What the trade allows between specified and delivered. */
  readonly tolerance: JudgedTolerance;
  /** Why they differ, in words. */
  readonly notes: readonly string[];
  /** What will not come out well: weaves finer than the raster. */
  readonly findings: readonly Finding[];
  readonly caution: string;
}
