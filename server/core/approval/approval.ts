import { foldCode } from '../codes.ts';
import type { StoredFinish } from '../finish/finish.ts';
import { type ResolvedFinish, toLook } from '../finish/resolve-finish.ts';
import { canonical } from '../history/compare-values.ts';
import type { Mount } from '../picture/picture.ts';
import { KEEP_ALL, readNormalKeep, type Slot } from '../product/slot.ts';
import type { Variant } from '../schedule/schedule.ts';
import { LOOK_CHANGES } from '../texts/change-texts.ts';

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

/** The revision of a finish, which decisions about it refer to; 0 where it is no longer stored. */
export function listFinishRevisions(
  finish: string,
  finishes: ReadonlyMap<string, StoredFinish>,
): Record<string, number> {
  return { [finish]: finishes.get(foldCode(finish))?.revision ?? 0 };
}

/** The finish of every slot of a variant with its revision, which decisions about the variant refer to. */
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
  return { state: 'lapsed', round: last.round, lapsedBecause: changes.slice(0, MAX_CHANGES).join(' ') };
}

/** More changes than this add no information. */
const MAX_CHANGES = 3;

/**
 * What changed since a decision from before looks were stored: the first revision that is another one, or a colour map that
 * is levelled. Maps were not levelled then, so such a finish looked otherwise.
 */
function listRevised(
  then: Readonly<Record<string, number>>,
  { revisions: now, levelled }: Pick<SubjectNow, 'revisions' | 'levelled'>,
): string[] {
  for (const [code, revision] of Object.entries(then)) {
    if (!Object.hasOwn(now, code)) return [LOOK_CHANGES.removed(code)];
    if (now[code] !== revision) return [LOOK_CHANGES.finishRevision(code, revision, now[code])];
  }
  const added = Object.keys(now).find((code) => !Object.hasOwn(then, code));
  if (added !== undefined) return [LOOK_CHANGES.added(added)];
  return levelled.slice(0, 1).map((code) => LOOK_CHANGES.levelled(code));
}

/** The round the next decision belongs to. */
export function nextRound(approvals: readonly Approval[], decision: Decision): number {
  const last = approvals.at(-1);
  if (!last) return 1;
  return decision === 'submitted' ? last.round + 1 : last.round;
}

/** The look that a decision was made on. The decision is valid while the look is the same, and again when it returns. */
export interface ApprovedLook {
  /** Of a variant: the model it was seen on; null where there was none. Digests are SHA-256 in hex. */
  readonly model?: { readonly revision: number; readonly sha256: string } | null;
  /** Of a variant: it decides where the shadow falls. */
  readonly mount?: Mount;
  /** The finish alone, or for a variant one in every slot that makes a choice, by slot key. */
  readonly worn: readonly FinishLook[];
}

/** The look of a finish, and for a variant how it was placed on its slot. */
export interface FinishLook {
  readonly finish: string;
  /** Digest of `describeFinishLook`. */
  readonly look: string;
  readonly on?: SlotLook;
}

export interface SlotLook {
  readonly slot: string;
  readonly label: string;
  /** A fixed slot shows what the model came with, whatever is chosen for it. */
  readonly fixed: boolean;
  /** Degrees counter-clockwise, 0–179. */
  readonly grainDegrees: number;
  /** Digest of what the slot keeps of its part. */
  readonly keeps: string;
  /** Digest of the primitives it covers. */
  readonly covers: string;
}

/**
 * A finish without what is only said of it, as text that is the same for the same look. Figures are rounded to a
 * hundred-thousandth: the last digits of a fit may differ by machine, and nobody sees them.
 */
export function describeFinishLook(resolved: ResolvedFinish): string {
  // out of sRGB two specified colours may be delivered alike, but a sample is held against what is specified
  return canonical(round({ ...toLook(resolved), specifiedLab: resolved.specifiedLab }));
}

/**
 * What a slot keeps of its part, as text; a yes or no for the normal map is the same as its word, and what a slot stored
 * before there was such a choice does not say, it keeps.
 */
export function describeKeep({ keep }: Pick<Slot, 'keep'>): string {
  return canonical({ ...KEEP_ALL, ...keep, normal: readNormalKeep(keep.normal) });
}

function round(value: unknown): unknown {
  // adding 0 makes a plain zero of a negative one
  if (typeof value === 'number') return Math.round(value * 1e5) / 1e5 + 0;
  if (Array.isArray(value)) return value.map(round);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, round(each)]));
}

/** The changes from one look to another, a sentence each, the widest first; empty where the looks are the same. */
export function listLookChanges(then: ApprovedLook, now: ApprovedLook): string[] {
  const changes: string[] = [];
  const sameModel = then.model?.sha256 === now.model?.sha256;
  if (!sameModel) changes.push(describeModelChange(then.model, now.model));
  if (then.mount !== now.mount) changes.push(LOOK_CHANGES.mount(then.mount, now.mount));
  const standing = new Map(now.worn.map((worn) => [worn.on?.slot, worn]));
  for (const before of then.worn) {
    const after = standing.get(before.on?.slot);
    standing.delete(before.on?.slot);
    if (after) changes.push(...listWornChanges(before, after, sameModel));
    else changes.push(LOOK_CHANGES.removed(placeOf(before)));
  }
  for (const added of standing.values()) changes.push(LOOK_CHANGES.added(placeOf(added)));
  return changes;
}

function listWornChanges(before: FinishLook, after: FinishLook, sameModel: boolean): string[] {
  const [was, is] = [before.on, after.on];
  const place = placeOf(after);
  if (was?.fixed !== is?.fixed) {
    return [is?.fixed ? LOOK_CHANGES.fixed(place) : LOOK_CHANGES.notFixed(place)];
  }
  // another model has other primitives, which says nothing more; a fixed slot wears none of what follows
  const moved = sameModel && was?.covers !== is?.covers ? [LOOK_CHANGES.parts(place)] : [];
  if (is?.fixed) return moved;
  const changes: string[] = [];
  if (foldCode(before.finish) !== foldCode(after.finish)) {
    changes.push(LOOK_CHANGES.otherFinish(place, before.finish, after.finish));
  } else if (before.look !== after.look) {
    changes.push(LOOK_CHANGES.finishChanged(after.finish, is ? place : null));
  }
  if (was?.keeps !== is?.keeps) changes.push(LOOK_CHANGES.kept(place));
  if (was?.grainDegrees !== is?.grainDegrees) {
    changes.push(LOOK_CHANGES.grain(place, was?.grainDegrees, is?.grainDegrees));
  }
  return [...changes, ...moved];
}

function describeModelChange(then: ApprovedLook['model'], now: ApprovedLook['model']): string {
  if (!now) return LOOK_CHANGES.modelRemoved;
  return then ? LOOK_CHANGES.modelRevision(then.revision, now.revision) : LOOK_CHANGES.modelAdded(now.revision);
}

function placeOf({ finish, on }: FinishLook): string {
  return on ? LOOK_CHANGES.slot(on.label) : LOOK_CHANGES.finish(finish);
}
