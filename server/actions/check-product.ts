import { listOutOfReach } from '../core/delivery/list-out-of-reach.ts';
import { checkModel } from '../core/product/check-model.ts';
import { type Finding, judge, type Verdict } from '../core/product/finding.ts';
import { settleSlots } from '../core/product/settle-slots.ts';
import { listProposals } from '../core/repair/list-proposals.ts';
import type { Repair } from '../core/repair/repair.ts';
import { listScheduleFindings } from '../core/schedule/list-schedule-findings.ts';
import { listUsedFinishes, type Schedule } from '../core/schedule/schedule.ts';
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
    const slots = settleSlots(loaded.slots, survey);
    findings.push(...checkModel({ ...loaded, slots, survey, origin, packed: receivedSha256 !== null }));
  }
  if (loaded.schedule) {
    const { schedule } = loaded.schedule;
    findings.push(...checkProductSchedule(loaded, schedule));
    findings.push(...listFinishFindings(loaded));
    if (loaded.model) {
      findings.push(...listOutOfReach(loaded.model.survey, loaded.slots, schedule, loaded.finishes.resolve));
    }
  }
  return { verdict: loaded.model ? judge(findings) : 'attention', findings, proposals: listProposals(findings) };
}

/** What stands against a schedule of the product, whatever its model. */
export function checkProductSchedule({ slots, line, finishes }: LoadedProduct, schedule: Schedule): Finding[] {
  return listScheduleFindings(schedule, slots, line, finishes.byCode, finishes.articles);
}

/** What stands between the finishes a schedule names and what was specified, and what could not be of this world. */
function listFinishFindings({ schedule, finishes }: LoadedProduct): Finding[] {
  return listUsedFinishes(schedule!.schedule).flatMap((code) => finishes.check(code));
}
