import type { Lab } from '../colour/lab.ts';
import type { ColourSpecification } from '../finish/finish.ts';
import type { JudgedTolerance } from '../finish/judge-difference.ts';
import type { DeliveredColour } from '../finish/resolve-finish.ts';
import type { Finding } from '../product/finding.ts';
import type { MeasuredColour } from './measure-swatch.ts';
import type { SwatchKind, SwatchLight } from './picture.ts';

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
