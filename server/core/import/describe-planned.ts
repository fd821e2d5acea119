import type { TwoDegreeBand } from '../colour/estimate-two-degree.ts';
import type { Lab } from '../colour/lab.ts';
import { checkFinish } from '../finish/check-finish.ts';
import type { Article, Family, Finish } from '../finish/finish.ts';
import { listSpecificationFindings } from '../finish/list-specification-findings.ts';
import { type RecallCodes, resolveFinish } from '../finish/resolve-finish.ts';
import type { FindingCode } from '../product/finding.ts';

/** What a row comes to when it is taken: enough to look at it before. */
export interface PlannedLook {
  readonly family: Family;
  readonly article?: string;
  /** 8-bit sRGB: what its chip shows. */
  readonly hex: string;
  /** CIE Lab, D65, 2°, of what is specified. */
  readonly lab: Lab;
  /** ΔE00 between what is specified and the nearest colour sRGB can carry; 0 inside the gamut. */
  readonly outOfGamutDeltaE: number;
  /** ΔE00 that an estimated colour may be off, as a rule and in nineteen cases of twenty; null where it is exact. */
  readonly estimated: TwoDegreeBand | null;
  /** Codes of what would be said of the finish; `GET /api/finishes/{finish}` says it in full once it is stored. */
  readonly findings: readonly FindingCode[];
}

export function describePlanned(finish: Finish, article: Article | null, recallCodes: RecallCodes): PlannedLook {
  const resolved = resolveFinish(finish, article, recallCodes);
  // maps are not at hand where rows are planned; what is said of them is said once a finish is stored
  const findings = [...listSpecificationFindings(resolved), ...checkFinish(finish, resolved, article)];
  return {
    family: finish.family,
    ...(finish.article !== undefined && { article: finish.article }),
    hex: resolved.hex,
    lab: resolved.colourLab,
    outOfGamutDeltaE: resolved.outOfGamutDeltaE,
    estimated: resolved.estimated,
    findings: [...new Set(findings.map(({ code }) => code))].filter((code) => code !== 'map-not-measured'),
  };
}
