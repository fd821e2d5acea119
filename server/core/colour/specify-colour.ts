import type { ColourSpecification, Geometry } from '../finish/finish.ts';
import { estimateTwoDegree, type TwoDegreeEstimate } from './estimate-two-degree.ts';
import { integrateSpectrum } from './integrate-spectrum.ts';
import { type Lab, labToLinear, linearToLab } from './lab.ts';
import { removeSurfaceReflection } from './remove-surface-reflection.ts';
import { hexToLinear, type LinearRgb } from './srgb.ts';
import { xyzToLab, xyzToLinear } from './xyz-lab.ts';

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
  const { rgb, estimated } = readLinear(colour);
  const geometry: Geometry | undefined = 'hex' in colour ? undefined : colour.geometry;
  if (metal || geometry !== 'di:8') return { rgb, lab: linearToLab(rgb), included: null, estimated };
  const body = removeSurfaceReflection(rgb, [1, 1, 1], ior).colour;
  return { rgb: body, lab: linearToLab(body), included: linearToLab(rgb), estimated };
}

function readLinear(colour: ColourSpecification): Pick<SpecifiedColour, 'rgb' | 'estimated'> {
  if ('hex' in colour) return { rgb: hexToLinear(colour.hex), estimated: null };
  if ('spectrum' in colour) {
    return { rgb: xyzToLinear(integrateSpectrum(colour.spectrum, 'D65', '2deg'), 'D65'), estimated: null };
  }
  const { illuminant, observer } = colour;
  const lab = 'lab' in colour ? colour.lab : xyzToLab(colour.xyz, illuminant, observer);
  if (observer === '2deg') return { rgb: labToLinear(lab, illuminant), estimated: null };
  const { lab2, band } = estimateTwoDegree(lab, illuminant);
  return { rgb: labToLinear(lab2, illuminant), estimated: band };
}
