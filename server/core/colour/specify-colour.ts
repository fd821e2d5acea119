import type { ColourSpecification, Illuminant } from '../finish/finish.ts';
import { estimateTwoDegree, type TwoDegreeEstimate } from './estimate-two-degree.ts';
import { type Lab, labToXyz, linearToLab, WHITE_POINTS, type Xyz, xyzToLab, xyzToLinear } from './lab.ts';
import { integrateSpectrum } from './spectrum.ts';
import { hexToLinear, type LinearRgb } from './srgb.ts';

/** A maker's specification, converted. */
export interface SpecifiedColour {
  /** Linear sRGB of the colour under the surface, not clamped to 0–1. Base colours are made from it. */
  readonly rgb: LinearRgb;
  /** The same colour as CIE Lab, D65, 2°. */
  readonly lab: Lab;
  /** CIE Lab, D65, 2°, of the reading with the surface reflection; null where no reflection was removed. */
  readonly included: Lab | null;
  /** Possible error of the estimate, ΔE00; null where the colour is exact. */
  readonly estimated: TwoDegreeEstimate['band'] | null;
}

/** The surface that was measured with its reflection. */
interface ReadSurface {
  /** True for a metal: its colour is its reflection, so the reflection is not removed. */
  readonly metal: boolean;
  /** Index of refraction, which determines the reflection to remove. */
  readonly ior: number;
}

/**
 * Converts a specification to linear sRGB. Hex, a spectrum and readings for the 2° observer are exact. A reading for
 * the 10° observer goes through a smooth spectrum, and the result states the possible error. Adaptation to D65 is
 * Bradford.
 * From a reading that includes the reflection (di:8) the reflection is removed, except for metals, since the renderer
 * adds it again.
 */
export function specifyColour(colour: ColourSpecification, { metal, ior }: ReadSurface): SpecifiedColour {
  if ('hex' in colour) {
    const rgb = hexToLinear(colour.hex);
    return { rgb, lab: linearToLab(rgb), included: null, estimated: null };
  }
  const { xyz, illuminant, estimated } = readXyz(colour);
  const rgb = xyzToLinear(xyz, illuminant);
  if (metal || colour.geometry !== 'di:8') return { rgb, lab: linearToLab(rgb), included: null, estimated };
  // in XYZ, where a colour outside sRGB has no negative part that would be clamped
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

/** Three numbers of a linear colour: XYZ or linear RGB. */
type Three = readonly [number, number, number];

/** Index of refraction of ordinary lacquers, plastics and of glTF's default dielectric. */
const USUAL_IOR = 1.5;

interface WithoutSurface<T extends Three> {
  readonly colour: T;
  /** Share of the light that the surface reflects, 0–1. */
  readonly share: number;
  /**
   * The part below that share that was clamped at 0, by channel, as a share of the white. It is not 0 for a reading
   * darker than possible.
   */
  readonly clamped: readonly [number, number, number];
}

/** Reflectance 0–1 of a smooth dielectric of this index in air, at normal incidence (Fresnel). */
export function surfaceShare(ior: number): number {
  return ((ior - 1) / (ior + 1)) ** 2;
}

/**
 * Removes the surface reflection from a reading that includes it (di:8). Not for metals.
 *
 * The model inverts what a glTF renderer does: the renderer shows F of the white and 1 − F of the base colour. F is the
 * Fresnel reflectance of the index at 0° (0.04 for 1.5; 8° changes it by 0.00004). So the base is (reading − F · white)
 * / (1 − F): a white reading of 100 stays 100, a perfect black, which reads Y = 4 (L* 23.7), is 0, and a true L* 9
 * reads 26.6. The model ignores light that is reflected back inside the surface (Saunderson), since glTF's diffuse term
 * ignores it too.
 *
 * @param colour XYZ, or linear RGB
 * @param white the perfect white in the same terms: XYZ of `WHITE_POINTS`, or 1, 1, 1
 */
export function removeSurfaceReflection(colour: Three, white: Three, ior = USUAL_IOR): WithoutSurface<Three> {
  const share = surfaceShare(ior);
  const base = ([0, 1, 2] as const).map((i) => (colour[i] / white[i] - share) / (1 - share));
  const kept = (i: 0 | 1 | 2) => Math.max(0, base[i]!) * white[i];
  const cut = (i: 0 | 1 | 2) => Math.max(0, -base[i]!);
  return { colour: [kept(0), kept(1), kept(2)], share, clamped: [cut(0), cut(1), cut(2)] };
}
