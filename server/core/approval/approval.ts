import { foldCode } from '../codes.ts';
import type { StoredFinish } from '../finish/finish.ts';
import type { Variant } from '../schedule/schedule.ts';
import { type ApprovedLook, listLookChanges } from './look.ts';

export const DECISIONS = ['submitted', 'approved', 'rejected'] as const;
export type Decision = (typeof DECISIONS)[number];

/** Lights a colour is judged under: daylight D65, lamp light A and shop light FL 11 (ISO 3668:2017, §5.2, colour-matching booth). */
export const LIGHTS = ['D65', 'A', 'F11'] as const;
export type Light = (typeof LIGHTS)[number];

/** What was looked at. A screen is never more than an indication. */
export const SHOWN = ['screen', 'sample'] as const;
export type Shown = (typeof SHOWN)[number];

/** A finish against its master sample, or a variant of a product as a whole. */
export type Subject = { readonly finish: string } | { readonly product: string; readonly variant: string };

/** One decision: what was shown, to whom, when, and how. */
export interface Approval {
  readonly subject: Subject;
  readonly decision: Decision;
  /** From 1; a submission after a decision opens the next. */
  readonly round: number;
  readonly person: string;
  /** Why; a rejection has one. */
  readonly reason?: string;
  readonly light: Light;
  readonly shown: Shown;
  /** Revision of every finish concerned: by code for a finish, by code and slot for a variant. */
  readonly revisions: Readonly<Record<string, number>>;
  /** What was approved, in digests. Absent in decisions from before these were stored: revisions judge those. */
  readonly look?: ApprovedLook;
  /** SHA-256 of the picture that was looked at. */
  readonly picture?: string;
  /** ISO 8601. */
  readonly at: string;
}

export type ApprovalState = 'none' | Decision | 'lapsed';

export interface Standing {
  readonly state: ApprovalState;
  /** Of the last decision; 0 without any. */
  readonly round: number;
  /** Why a decision no longer stands, in sentences. */
  readonly lapsedBecause?: string;
}

/** What a finish is judged by: its revision; 0 where it is no longer stored. */
export function listFinishRevisions(
  finish: string,
  finishes: ReadonlyMap<string, StoredFinish>,
): Record<string, number> {
  return { [finish]: finishes.get(foldCode(finish))?.revision ?? 0 };
}

/** What a variant is judged by: the finish of every slot, each with its revision. */
export function listVariantRevisions(
  { choices }: Variant,
  finishes: ReadonlyMap<string, StoredFinish>,
): Record<string, number> {
  const cells = Object.entries(choices).sort(([a], [b]) => (a < b ? -1 : 1));
  return Object.fromEntries(
    cells.map(([slot, code]) => [`${code} on ${slot}`, finishes.get(foldCode(code))?.revision ?? 0]),
  );
}

/** A subject as it is now. */
export interface SubjectNow {
  readonly revisions: Readonly<Record<string, number>>;
  readonly look: ApprovedLook;
  /** Finishes of it whose colour map is levelled to the specified colour. */
  readonly levelled: readonly string[];
}

/**
 * Where a subject stands: its last decision, unless its look has changed since. A decision lapses then, rejections too,
 * since what was rejected is no longer what is there. A change that is taken back makes the decision stand again. A new
 * name, note or price grade changes no look.
 * @param approvals of this subject, oldest first
 */
export function judgeStanding(approvals: readonly Approval[], now: SubjectNow): Standing {
  const last = approvals.at(-1);
  if (!last) return { state: 'none', round: 0 };
  const changes = last.look ? listLookChanges(last.look, now.look) : listRevised(last.revisions, now);
  if (changes.length === 0) return { state: last.decision, round: last.round };
  return { state: 'lapsed', round: last.round, lapsedBecause: changes.slice(0, CHANGES_TOLD).join(' ') };
}

/** Changes that are told; more of them say no more. */
const CHANGES_TOLD = 3;

/**
 * What changed since a decision from before looks were stored: the first revision that is another one, or a colour map that
 * is levelled. Maps were not levelled then, so such a finish looked otherwise.
 */
function listRevised(
  then: Readonly<Record<string, number>>,
  { revisions: now, levelled }: Pick<SubjectNow, 'revisions' | 'levelled'>,
): string[] {
  for (const [code, revision] of Object.entries(then)) {
    if (!Object.hasOwn(now, code)) return [`${code} is no longer part of it.`];
    if (now[code] !== revision) return [`${code} has changed: revision ${revision} then, ${now[code]} now.`];
  }
  const added = Object.keys(now).find((code) => !Object.hasOwn(then, code));
  if (added !== undefined) return [`${added} has been added.`];
  return levelled.slice(0, 1).map((code) => `The colour map of ${code} is now levelled to its specified colour.`);
}

/** The round the next decision belongs to. */
export function nextRound(approvals: readonly Approval[], decision: Decision): number {
  const last = approvals.at(-1);
  if (!last) return 1;
  return decision === 'submitted' ? last.round + 1 : last.round;
}
