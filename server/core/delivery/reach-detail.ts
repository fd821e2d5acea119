import { deltaE2000, linearToLab } from '../colour/lab.ts';
import type { LinearRgb } from '../colour/srgb.ts';

/** What becomes of a finish's colour over a neutral detail map. */
export interface Reached {
  /** What `baseColorFactor` has to be, each channel 0–1, linear: target ÷ mean, cut to 1. */
  readonly factor: LinearRgb;
  /** How many times what a factor can be the most demanding channel asks for; 1 or less is within reach. */
  readonly demand: number;
  /** The mean colour that comes of it, linear. */
  readonly colour: LinearRgb;
  /** ΔE00 between that and the target; 0 within reach. */
  readonly deltaE: number;
}

/** A factor this far above 1 is rounding. */
const ROUNDING = 1e-6;

/**
 * Finds the factor by which a neutral detail map takes on a colour in the mean. A map of eight bits is at most 1 in every
 * texel, so its mean is below 1 as soon as it varies, and light colours may ask for more than a factor can be.
 * @param target linear RGB, 0–1
 * @param mean linear mean of the map, above 0 and at most 1
 */
export function reachDetail(target: LinearRgb, mean: number): Reached {
  const demand = Math.max(...target) / mean;
  const cut = (channel: number) => Math.min(1, channel / mean);
  const factor: LinearRgb = [cut(target[0]), cut(target[1]), cut(target[2])];
  if (demand <= 1 + ROUNDING) return { factor, demand, colour: target, deltaE: 0 };
  const colour: LinearRgb = [factor[0] * mean, factor[1] * mean, factor[2] * mean];
  return { factor, demand, colour, deltaE: deltaE2000(linearToLab(target), linearToLab(colour)) };
}
