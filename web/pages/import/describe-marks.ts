import type { PlannedRow } from '../../../server/core/import/plan-import.ts';
import type { FindingCode } from '../../../server/core/product/finding.ts';
import { formatKey } from '../../format.ts';

/** What is said of finishes, short enough for a cell; in full it stands on the finish once it is stored. */
const MARKS: Partial<Record<FindingCode, string>> = {
  'albedo-implausible': 'lightness unusual for such a surface',
  'metal-too-dark': 'darker than bare metals are',
  'surface-implausible': 'surface unusual for its family',
  'gloss-out-of-reach': 'gloss out of reach',
  'gloss-not-read': 'gloss makes no roughness',
};

/** Remarks on a line that is taken, the estimate and the gamut with their figures. */
export function describeMarks({
  findings,
  estimated,
  outOfGamutDeltaE,
}: Pick<PlannedRow, 'findings' | 'estimated' | 'outOfGamutDeltaE'>): string[] {
  return findings.map((code) => {
    if (code === 'colour-estimated' && estimated) {
      const { typicalDeltaE, worstDeltaE } = estimated;
      return `estimated from 10°, within ΔE00 ${typicalDeltaE} as a rule, seldom over ${worstDeltaE}`;
    }
    if (code === 'out-of-gamut') return `outside sRGB, shown ΔE00 ${outOfGamutDeltaE.toFixed(1)} off`;
    return MARKS[code] ?? formatKey(code).toLowerCase();
  });
}
