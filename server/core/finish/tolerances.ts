import { deltaE2000, deltaEab, deltaECmc, type Lab } from '../colour/lab.ts';
import type { Family, Finish } from './finish.ts';
import type { ResolvedFinish } from './resolve-finish.ts';

/**
 * Formula of a colour difference: CIELAB 1976 (`ab`), CMC(2:1) of ISO 105-J03, or CIEDE2000 with kL = kC = kH = 1.
 */
export type DifferenceFormula = 'ab' | 'cmc-2-1' | 'de2000';

/** How far a finish may be from its standard, and who says so. */
export interface Tolerance {
  readonly formula: DifferenceFormula;
  /** Greatest difference that passes; null where the standard leaves the material out, and the figure is only told. */
  readonly limit: number | null;
  /** `standard` where a published one has the figure, `practice` where it is what the trade commonly agrees on. */
  readonly rests: 'standard' | 'practice';
  /** For people. */
  readonly source: string;
}

/**
 * AAMA 2604 and 2605, colour uniformity, as quoted in the trade: 2 ΔE against the agreed standard. The quotations do not say
 * whose ΔE. For weathering these standards count in Hunter units (ΔEH, says a maker of test chambers in a webinar on AAMA 615, 625 and 2605), and ASTM
 * D2244-15a, §5.2, says that coaters of aluminium use those; both scales are near each other for small differences. It is
 * taken as CIELAB's, and the figure says so.
 */
const SOLID_COATING: Tolerance = {
  formula: 'ab',
  limit: 2,
  rests: 'standard',
  source:
    'AAMA 2604 and 2605, as quoted in the trade: at most 2 ΔE from the agreed standard, solid colours; taken as CIELAB, though the quotations do not say whether Hunter units are meant',
};

/** AAMA 2605 §7.1.2 as quoted: exact uniformity is not to be expected of metallic and mica colours. */
const METALLIC_COATING: Tolerance = {
  formula: 'ab',
  limit: null,
  rests: 'standard',
  source: 'AAMA 2604 and 2605 leave metallic and mica colours out: judged by eye against agreed samples',
};

/** ISO 105-J03 has the formula and no limit; 1.0 is common practice for solid shades, 0.5 where it is strict. */
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
 * The tolerance a finish of this family is held to.
 * @param metallic whether a coating has metal or mica flakes in it; other families know no such exception
 */
export function toleranceOf(family: Family, metallic = false): Tolerance {
  const tolerance = TOLERANCES[family];
  return metallic && tolerance === SOLID_COATING ? METALLIC_COATING : tolerance;
}

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
