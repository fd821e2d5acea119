import { deltaE2000, deltaEab, deltaECmc, type Lab } from '../colour/lab.ts';
import type { Family, Finish } from './finish.ts';
import type { ResolvedFinish } from './resolve-finish.ts';

/**
 * Formula of a colour difference: CIELAB 1976 (`ab`), CMC(2:1) of ISO 105-J03, or CIEDE2000 with kL = kC = kH = 1.
 */
type DifferenceFormula = 'ab' | 'cmc-2-1' | 'de2000';

/** The largest distance of a finish from its standard, with the source of the limit. */
export interface Tolerance {
  readonly formula: DifferenceFormula;
  /** Largest difference that passes; null if the standard excludes the material, and the figure is only information. */
  readonly limit: number | null;
  /** `standard` if a published standard has the figure, `practice` if it is a common agreement in the trade. */
  readonly rests: 'standard' | 'practice';
  /** For people. */
  readonly source: string;
}

/**
 * AAMA 2604 and 2605, colour uniformity, as quoted in the trade: 2 ΔE against the agreed standard. The quotations do
 * not say which ΔE. For weathering, these standards count in Hunter units (ΔEH, according to a maker of test chambers
 * in a webinar on AAMA 615, 625 and 2605), and ASTM D2244-15a, §5.2, says that coaters of aluminium use those. Both
 * scales are close for small differences. Dyeworks reads it as CIELAB's, and the source text says so.
 */
const SOLID_COATING: Tolerance = {
  formula: 'ab',
  limit: 2,
  rests: 'standard',
  source:
    'AAMA 2604 and 2605, as quoted in the trade: at most 2 ΔE from the agreed standard, solid colours; taken as CIELAB, though the quotations do not say whether Hunter units are meant',
};

/** AAMA 2605 §7.1.2 as quoted: metallic and mica colours cannot be expected to be exactly uniform. */
const METALLIC_COATING: Tolerance = {
  formula: 'ab',
  limit: null,
  rests: 'standard',
  source: 'AAMA 2604 and 2605 leave metallic and mica colours out: judged by eye against agreed samples',
};

/** ISO 105-J03 defines the formula without a limit; 1.0 is common practice for solid shades, 0.5 if strict. */
const CLOTH: Tolerance = {
  formula: 'cmc-2-1',
  limit: 1,
  rests: 'practice',
  source: 'CMC(2:1) by ISO 105-J03; a limit of 1.0 is common practice',
};

const OTHER: Tolerance = {
  formula: 'de2000',
  limit: 2,
  rests: 'practice',
  source: 'a ΔE00 of 2 is common practice; below it only trained eyes see a difference',
};

const TOLERANCES: Readonly<Record<Family, Tolerance>> = {
  paint: SOLID_COATING,
  'powder-coat': SOLID_COATING,
  plastic: SOLID_COATING,
  ceramic: SOLID_COATING,
  textile: CLOTH,
  leather: CLOTH,
  anodised: OTHER,
  plated: OTHER,
  'bare-metal': OTHER,
  wood: OTHER,
  glass: OTHER,
  stone: OTHER,
  paper: OTHER,
};

/**
 * The tolerance for a finish of a family.
 * @param metallic whether a coating contains metal or mica flakes; other families have no such exception
 */
export function toleranceOf(family: Family, metallic = false): Tolerance {
  const tolerance = TOLERANCES[family];
  return metallic && tolerance === SOLID_COATING ? METALLIC_COATING : tolerance;
}

/** A tolerance with the result of its comparison. */
export interface JudgedTolerance extends Tolerance {
  /** Difference by the tolerance's own formula; null if the delivered colour cannot be measured. */
  readonly difference: number | null;
  /** Null if the standard sets no limit for the material, or if the difference is unknown. */
  readonly within: boolean | null;
}

/** Compares the distance of a sample from its standard with a tolerance, both Lab under one illuminant. */
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
 * Compares the distance between delivered and specified colour with the trade's tolerance for the finish. An
 * unmeasurable colour is not judged. A coating marked as metal contains flakes: bare metal is a family of its own.
 */
export function judgeFinish(
  { family }: Pick<Finish, 'family'>,
  { specifiedLab, delivered, metalness }: Pick<ResolvedFinish, 'specifiedLab' | 'delivered' | 'metalness'>,
): JudgedTolerance {
  const tolerance = toleranceOf(family, metalness === 1);
  if (!delivered) return { ...tolerance, difference: null, within: null };
  return judgeDifference(specifiedLab, delivered.lab, tolerance);
}
