import { listOutOfReach } from '../core/delivery/list-out-of-reach.ts';
import { checkModel } from '../core/product/check-model.ts';
import { type Finding, judge, makeFinding, type Verdict } from '../core/product/finding.ts';
import { listProposals } from '../core/repair/list-proposals.ts';
import type { Repair } from '../core/repair/repair.ts';
import { listScheduleFindings } from '../core/schedule/list-schedule-findings.ts';
import { listUsedFinishes } from '../core/schedule/schedule.ts';
import type { LoadedProduct } from './load-product.ts';

export interface Readiness {
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  /** The repairs of the findings as one chain. */
  readonly proposals: readonly Repair[];
}

/** The readiness of a product: its model, its schedule, and the finishes the schedule names. Never throws. */
export function checkProduct(loaded: LoadedProduct): Readiness {
  const findings: Finding[] = [];
  if (loaded.model) {
    const { survey, origin, receivedSha256 } = loaded.model;
    findings.push(...checkModel({ ...loaded, survey, origin, packed: receivedSha256 !== null }));
  }
  if (loaded.schedule) {
    const { schedule } = loaded.schedule;
    findings.push(...listScheduleFindings(schedule, loaded.slots, loaded.line, loaded.finishes.byCode));
    findings.push(...listGamutFindings(loaded));
    if (loaded.model) {
      findings.push(...listOutOfReach(loaded.model.survey, loaded.slots, schedule, loaded.finishes.resolve));
    }
  }
  return { verdict: loaded.model ? judge(findings) : 'attention', findings, proposals: listProposals(findings) };
}

/** A specified colour farther than this from what sRGB carries is said; less is below what anybody sees. */
const OUT_OF_GAMUT_DELTA_E = 0.5;

function listGamutFindings({ schedule, finishes }: LoadedProduct): Finding[] {
  return listUsedFinishes(schedule!.schedule).flatMap((code) => {
    const { outOfGamutDeltaE, hex } = finishes.resolve(code);
    if (outOfGamutDeltaE <= OUT_OF_GAMUT_DELTA_E) return [];
    return [
      makeFinding('out-of-gamut', {
        where: `finish ${code}`,
        message: `The specified colour of ${code} lies outside sRGB; the nearest that can be shown is ${hex}, ΔE00 ${outOfGamutDeltaE.toFixed(1)} away.`,
        seen: outOfGamutDeltaE,
        expected: 0,
      }),
    ];
  });
}
