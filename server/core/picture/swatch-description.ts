import type { Lab } from '../colour/lab.ts';
import type { ColourSpecification } from '../finish/finish.ts';
import type { JudgedTolerance } from '../finish/judge-difference.ts';
import type { MeasuredColour } from './measure-swatch.ts';
import type { SwatchKind } from './picture.ts';

/** What a swatch shows, beside what was specified. Lab is CIE Lab under D65 for the 2° observer throughout. */
export interface SwatchDescription {
  readonly finish: string;
  readonly revision: number;
  readonly kind: SwatchKind;
  readonly sizePx: number;
  readonly specified: { readonly lab: Lab; readonly given: ColourSpecification };
  /** What the delivered material carries in linear light; the hex is that, rounded to 8 bits. */
  readonly delivered: { readonly lab: Lab; readonly hex: string; readonly deltaE: number };
  /** Read of the picture's own pixels. */
  readonly measured: MeasuredColour;
  /** ΔE00 between specified and measured. */
  readonly deltaE: number;
  /** What the trade allows between specified and delivered. */
  readonly tolerance: JudgedTolerance;
  /** Why they differ, in words. */
  readonly notes: readonly string[];
  readonly caution: string;
}
