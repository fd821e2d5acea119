import { deltaEab } from '../colour/delta-e-ab.ts';
import { deltaECmc } from '../colour/delta-e-cmc.ts';
import { deltaE2000, type Lab } from '../colour/lab.ts';
import type { DifferenceFormula, Tolerance } from './tolerances.ts';

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
