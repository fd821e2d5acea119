import { deltaEab } from '../colour/delta-e-ab.ts';
import { deltaECmc } from '../colour/delta-e-cmc.ts';
import { deltaE2000, type Lab } from '../colour/lab.ts';
import type { DifferenceFormula, Tolerance } from './tolerances.ts';

/** How far a colour is from its standard, by the formula its tolerance is stated in. */
export interface JudgedDifference {
  /** CIEDE2000, which all distances here are told in. */
  readonly deltaE00: number;
  /** The same pair by the formula of the tolerance. */
  readonly difference: number;
  /** Null where the standard leaves the material out. */
  readonly within: boolean | null;
}

/**
 * Holds a colour against its standard. Both are CIE Lab, D65, 2°, which is the light a tolerance is agreed under.
 * @param standard what was specified; CMC's tolerance grows about it
 */
export function judgeDifference(standard: Lab, sample: Lab, { formula, limit }: Tolerance): JudgedDifference {
  const difference = MEASURES[formula](standard, sample);
  return { deltaE00: deltaE2000(standard, sample), difference, within: limit === null ? null : difference <= limit };
}

const MEASURES: Readonly<Record<DifferenceFormula, (standard: Lab, sample: Lab) => number>> = {
  ab: deltaEab,
  'cmc-2-1': (standard, sample) => deltaECmc(standard, sample, 2, 1),
  de2000: deltaE2000,
};
