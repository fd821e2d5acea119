import { canonical } from '../canonical.ts';
import { foldCode } from '../codes.ts';
import type { StoredFinish } from '../finish/finish.ts';
import { type ResolvedFinish, toLook } from '../finish/resolve-finish.ts';
import type { Mount } from '../picture/picture.ts';
import { KEEP_ALL, readNormalKeep, type Slot } from '../product/slot.ts';
import type { Variant } from '../schedule/schedule.ts';
import { LOOK_CHANGES } from '../texts/change-texts.ts';

export const DECISIONS = ['submitted', 'approved', 'rejected'] as const;
export type Decision = (typeof DECISIONS)[number];

/**
 * Lights for judging a colour: daylight D65, lamp light A and shop light FL 11 (ISO 3668:2017, §5.2, colour-matching
 * booth).
 */
export const LIGHTS = ['D65', 'A', 'F11'] as const;
export type Light = (typeof LIGHTS)[number];

/** The medium that people judged. A screen is only an indication. */
export const SHOWN = ['screen', 'sample'] as const;
export type Shown = (typeof SHOWN)[number];

/** A finish against its master sample, or a variant of a product as a whole. */
export type Subject = { readonly finish: string } | { readonly product: string; readonly variant: string };

/** One decision: what was shown, to whom, when, and how. */
export interface Approval {
  readonly subject: Subject;
  readonly decision: Decision;
  /** From 1; a submission after a decision starts the next round. */
  readonly round: number;
  readonly person: string;
  /** The reason. Every rejection has one. */
  readonly reason?: string;
  readonly light: Light;
  readonly shown: Shown;
  /** Revision of every finish concerned: by code for a finish, by code and slot for a variant. */
  readonly revisions: Readonly<Record<string, number>>;
  /** Digests of the approved look. Absent in older decisions; their revisions are compared instead. */
  readonly look?: ApprovedLook;
  /** SHA-256 of the judged picture. */
  readonly picture?: string;
  /** ISO 8601. */
  readonly at: string;
}

type ApprovalState = 'none' | Decision | 'lapsed';

export interface Standing {
  readonly state: ApprovalState;
  /** Of the last decision; 0 without any. */
  readonly round: number;
  /** Why a decision has lapsed, in sentences. */
  readonly lapsedBecause?: string;
}

/** The revision of a finish, to which decisions about it refer; 0 if it is no longer stored. */
export function getFinishRevision(finish: string, finishes: ReadonlyMap<string, StoredFinish>): Record<string, number> {
  return { [finish]: finishes.get(foldCode(finish))?.revision ?? 0 };
}

/** The finish of every slot of a variant with its revision, to which decisions about the variant refer. */
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
  /** Its finishes whose colour map is levelled to the specified colour. */
  readonly levelled: readonly string[];
}

/**
 * Finds the standing of a subject: its last decision, unless its look has changed since. A changed look lapses any
 * decision, including a rejection, because the rejected look no longer exists. If the change is undone, the decision is
 * valid again. A new name, note or price grade does not change the look.
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
 * Changes since a decision without a stored look: the first revision that differs, or a colour map that is levelled. At
 * that time maps were not levelled, so such a finish looked different.
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

/** The round of the next decision. */
export function nextRound(approvals: readonly Approval[], decision: Decision): number {
  const last = approvals.at(-1);
  if (!last) return 1;
  return decision === 'submitted' ? last.round + 1 : last.round;
}

/** The look that a decision was made on. The decision is valid while the look is the same, and again when it returns. */
export interface ApprovedLook {
  /** Of a variant: the model in the judged picture; null without one. Digests are SHA-256 in hex. */
  readonly model?: { readonly revision: number; readonly sha256: string } | null;
  /** Of a variant: it decides where the shadow falls. */
  readonly mount?: Mount;
  /** The finish alone; or for a variant, the finish in every slot with a choice, by slot key. */
  readonly worn: readonly FinishLook[];
}

/** The look of a finish and, for a variant, its placement on its slot. */
export interface FinishLook {
  readonly finish: string;
  /** Digest of `describeFinishLook`. */
  readonly look: string;
  readonly on?: SlotLook;
}

export interface SlotLook {
  readonly slot: string;
  readonly label: string;
  /** A fixed slot shows the model's own material, whatever its choice. */
  readonly fixed: boolean;
  /** Degrees counter-clockwise, 0–179. */
  readonly grainDegrees: number;
  /** Digest of the part properties that the slot keeps. */
  readonly keeps: string;
  /** Digest of its primitives. */
  readonly covers: string;
}

/**
 * A finish as text without its descriptive fields. Equal looks give equal text. Figures are rounded to a
 * hundred-thousandth: the last digits of a fit may differ between machines, and the difference is invisible.
 */
export function describeFinishLook(resolved: ResolvedFinish): string {
  // Outside sRGB, two specified colours may be delivered alike, but a sample is compared with the specified colour.
  return canonical(round({ ...toLook(resolved), specifiedLab: resolved.specifiedLab }));
}

/**
 * The kept properties of a slot, as text. A boolean for the normal map equals its word. A slot older than a setting
 * keeps the property.
 */
export function describeKeep({ keep }: Pick<Slot, 'keep'>): string {
  return canonical({ ...KEEP_ALL, ...keep, normal: readNormalKeep(keep.normal) });
}

function round(value: unknown): unknown {
  // Adding 0 turns negative zero into zero.
  if (typeof value === 'number') return Math.round(value * 1e5) / 1e5 + 0;
  if (Array.isArray(value)) return value.map(round);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, round(each)]));
}

/** The changes from one look to another, one sentence each, the largest first. Empty if the looks are equal. */
export function listLookChanges(then: ApprovedLook, now: ApprovedLook): string[] {
  const changes: string[] = [];
  const sameModel = then.model?.sha256 === now.model?.sha256;
  if (!sameModel) changes.push(describeModelChange(then.model, now.model));
  if (then.mount !== now.mount) changes.push(LOOK_CHANGES.mount(then.mount, now.mount));
  const remaining = new Map(now.worn.map((look) => [look.on?.slot, look]));
  for (const before of then.worn) {
    const after = remaining.get(before.on?.slot);
    remaining.delete(before.on?.slot);
    if (after) changes.push(...listFinishLookChanges(before, after, sameModel));
    else changes.push(LOOK_CHANGES.removed(placeOf(before)));
  }
  for (const added of remaining.values()) changes.push(LOOK_CHANGES.added(placeOf(added)));
  return changes;
}

function listFinishLookChanges(before: FinishLook, after: FinishLook, sameModel: boolean): string[] {
  const [was, is] = [before.on, after.on];
  const place = placeOf(after);
  if (was?.fixed !== is?.fixed) {
    return [is?.fixed ? LOOK_CHANGES.fixed(place) : LOOK_CHANGES.notFixed(place)];
  }
  // Another model has other primitives, so this comparison adds nothing. On a fixed slot, none of the following is
  // visible.
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
