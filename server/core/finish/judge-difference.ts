import { deltaE2000, deltaEab, deltaECmc, type Lab } from '../colour/lab.ts';
import type { Finish } from './finish.ts';
import type { ResolvedFinish } from './resolve-finish.ts';
import { type DifferenceFormula, type Tolerance, toleranceOf } from './tolerances.ts';

/** A tolerance with what it is held against. */
export interface JudgedTolerance extends Tolerance {
  /** Difference by the tolerance's own formula; null where what is delivered cannot be measured. */
  readonly difference: number | null;
  /** Null where the standard sets no limit for the material, or the difference is not known. */
  readonly within: boolean | null;
}

/** How far a sample is from its standard, both Lab under one illuminant, held against a tolerance. */
export function judgeDifference(
  standard: Lab,
  sample: Lab,
  tolerance: Tolerance,
): JudgedTolerance & { readonly difference: number } {
  const difference = measureDifference(standard, sample, tolerance.formula);
  return { ...tolerance, difference, within: tolerance.limit === null ? null : difference <= tolerance.limit };
}

function measureDifference(standard: Lab, sample: Lab, formula: DifferenceFormula): number {
  switch (formula) {
    case 'ab':
      return deltaEab(standard, sample);
    case 'cmc-2-1':
      return deltaECmc(standard, sample);
    case 'de2000':
      return deltaE2000(standard, sample);
  }
}

/**
 * How far what is delivered is from what was specified, held against what the trade allows of the finish; nothing is
 * judged of what cannot be measured. A coating that is said to be metal has flakes in it: bare metal is a family of its own.
 */
export function judgeFinish(
  { family }: Pick<Finish, 'family'>,
  { specifiedLab, delivered, metalness }: Pick<ResolvedFinish, 'specifiedLab' | 'delivered' | 'metalness'>,
): JudgedTolerance {
  const tolerance = toleranceOf(family, metalness === 1);
  if (!delivered) return { ...tolerance, difference: null, within: null };
  return judgeDifference(specifiedLab, delivered.lab, tolerance);
}
