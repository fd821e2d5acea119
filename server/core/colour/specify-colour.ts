import type { ColourSpecification, Illuminant } from '../finish/finish.ts';
import { estimateTwoDegree, type TwoDegreeEstimate } from './estimate-two-degree.ts';
import { integrateSpectrum } from './integrate-spectrum.ts';
import { type Lab, linearToLab } from './lab.ts';
import { removeSurfaceReflection } from './remove-surface-reflection.ts';
import { hexToLinear, type LinearRgb } from './srgb.ts';
import { labToXyz, WHITE_POINTS, type Xyz, xyzToLab, xyzToLinear } from './xyz-lab.ts';

/** What a maker's specification comes to. */
export interface SpecifiedColour {
  /** Linear sRGB of what lies under the surface, not cut to 0–1: what a base colour is made from. */
  readonly rgb: LinearRgb;
  /** The same as CIE Lab, D65, 2°. */
  readonly lab: Lab;
  /** CIE Lab, D65, 2°, of the reading with the reflection of the surface still in it; null where none was taken out. */
  readonly included: Lab | null;
  /** How far the estimate may be off by ΔE00; null where the colour is exact. */
  readonly estimated: TwoDegreeEstimate['band'] | null;
}

/** What a reading with the surface's reflection in it is of. */
export interface ReadSurface {
  /** A metal's colour is its reflection, which is left in. */
  readonly metal: boolean;
  /** Index of refraction, by which the reflection is taken out. */
  readonly ior: number;
}

/**
 * Turns a specification into linear sRGB. Hex, a spectrum and readings for the 2° observer are exact; a reading for the 10°
 * observer is taken through a smooth spectrum, and says how far off that may be. Adaptation to D65 is Bradford. From a
 * reading that includes the reflection (di:8) of anything but metal that reflection is taken out, since the renderer adds
 * it again.
 */
export function specifyColour(colour: ColourSpecification, { metal, ior }: ReadSurface): SpecifiedColour {
  if ('hex' in colour) {
    const rgb = hexToLinear(colour.hex);
    return { rgb, lab: linearToLab(rgb), included: null, estimated: null };
  }
  const { xyz, illuminant, estimated } = readXyz(colour);
  const rgb = xyzToLinear(xyz, illuminant);
  if (metal || colour.geometry !== 'di:8') return { rgb, lab: linearToLab(rgb), included: null, estimated };
  // in XYZ, where a colour outside sRGB has no negative part to be cut
  const body = removeSurfaceReflection(xyz, WHITE_POINTS[illuminant]['2deg'], ior).colour;
  const bodyRgb = xyzToLinear(body, illuminant);
  return { rgb: bodyRgb, lab: linearToLab(bodyRgb), included: linearToLab(rgb), estimated };
}

/** XYZ for the 2° observer. */
function readXyz(colour: Exclude<ColourSpecification, { readonly hex: string }>): {
  readonly xyz: Xyz;
  readonly illuminant: Illuminant;
  readonly estimated: SpecifiedColour['estimated'];
} {
  if ('spectrum' in colour) {
    return { xyz: integrateSpectrum(colour.spectrum, 'D65', '2deg'), illuminant: 'D65', estimated: null };
  }
  const { illuminant, observer } = colour;
  if (observer === '2deg') {
    const xyz = 'xyz' in colour ? colour.xyz : labToXyz(colour.lab, illuminant, '2deg');
    return { xyz, illuminant, estimated: null };
  }
  const lab = 'lab' in colour ? colour.lab : xyzToLab(colour.xyz, illuminant, observer);
  const { lab2, band } = estimateTwoDegree(lab, illuminant);
  return { xyz: labToXyz(lab2, illuminant, '2deg'), illuminant, estimated: band };
}
