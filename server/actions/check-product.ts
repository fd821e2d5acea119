import { listOutOfReach } from '../core/delivery/kept-maps.ts';
import { checkModel } from '../core/product/check-model.ts';
import { type Finding, makeFinding } from '../core/product/finding.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import { fillSlotDefaults } from '../core/product/slot-defaults.ts';
import { judge, type Verdict } from '../core/product/verdict.ts';
import { listProposals } from '../core/repair/list-proposals.ts';
import type { Repair } from '../core/repair/repair.ts';
import { findInSchedule } from '../core/schedule/list-schedule-findings.ts';
import { listUsedFinishes, type Schedule } from '../core/schedule/schedule.ts';
import type { Context } from './context.ts';
import { inTurns } from './in-turns.ts';
import { type LoadedProduct, packScope } from './loaded-product.ts';
import { packSchedule } from './packed-schedules.ts';

type Checking = Pick<Context, 'planner'>;

export interface Readiness {
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  /** The repairs of the findings as one chain. */
  readonly proposals: readonly Repair[];
}

const NO_VARIANTS = makeFinding(
  'no-schedule',
  {},
  {
    where: 'schedule',
    seen: 0,
    expected: '1 or more',
  },
  'warning',
);

/** The readiness of a product: its model, its schedule, and the finishes the schedule names. Never throws. */
export async function checkProduct(context: Checking, loaded: LoadedProduct, signal?: AbortSignal): Promise<Readiness> {
  const findings = await listFindings(context, loaded, signal);
  return {
    verdict: loaded.model ? judge(findings) : 'attention',
    findings: groupFindings(findings),
    proposals: listProposals(findings),
  };
}

/** The findings of the readiness check, one for each place. */
export async function listFindings(context: Checking, loaded: LoadedProduct, signal?: AbortSignal): Promise<Finding[]> {
  const findings = listModelFindings(loaded);
  if (loaded.model && !loaded.schedule?.schedule.variants.length) findings.push(NO_VARIANTS);
  if (loaded.schedule) {
    const { schedule } = loaded.schedule;
    findings.push(...(await checkProductSchedule(context, loaded, schedule, signal)));
    findings.push(...listFinishFindings(loaded));
    if (loaded.model) {
      findings.push(...listOutOfReach(loaded.model.survey, loaded.slots, schedule, loaded.finishes.resolve));
    }
  }
  return findings;
}

/** Findings about the model alone, one for each place. */
export function listModelFindings(loaded: LoadedProduct): Finding[] {
  if (!loaded.model) return [];
  const { survey, origin, receivedSha256 } = loaded.model;
  const slots = fillSlotDefaults(loaded.slots, survey);
  return checkModel({ ...loaded, slots, survey, origin, packed: receivedSha256 !== null });
}

/** Rows that are checked in this thread, in some milliseconds: for fewer, passing them to another takes longer. */
const ROWS_HERE = 400;

/**
 * Findings about a schedule of the product, whatever its model is.
 * @param signal aborts when the caller of a reading leaves; a change that is stored is answered without it
 */
export async function checkProductSchedule(
  { planner }: Checking,
  loaded: LoadedProduct,
  schedule: Schedule,
  signal?: AbortSignal,
): Promise<readonly Finding[]> {
  const { slots, line, finishes } = loaded;
  if (schedule.variants.length > ROWS_HERE) {
    const scope = await packScope(loaded, listUsedFinishes(schedule));
    return planner.run({ kind: 'schedule-findings', scope, schedule: await packSchedule(schedule) }, signal);
  }
  return inTurns(findInSchedule(schedule, slots, line, finishes.byCode, finishes.articles));
}

/** Findings about the finishes of the schedule. */
function listFinishFindings({ schedule, finishes }: LoadedProduct): Finding[] {
  return listUsedFinishes(schedule!.schedule).flatMap((code) => finishes.check(code));
}
