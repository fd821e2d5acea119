import type { Family } from '../finish/finish.ts';
import { GRAIN_REASONS } from '../texts/finish-notes.ts';
import type { Slot } from './slot.ts';
import type { GrainFacts, GrainMark, GrainTurn, ReliefFacts, Survey } from './survey.ts';

/** Slopes that nobody sees under another finish. Judgement. */
const FLAT_DEGREES = 1.5;
/** The steepest patches of a weave are hardly steeper than the middle one; a seam is several times as steep. Judgement. */
const EVEN = 1.8;
/** Patches of a weave are level as a whole. Judgement. */
const LEVEL_DEGREES = 4;
/** A map that repeats over the part cannot hold a seam, which is in one place. Rounding aside, that is twice. */
const REPEATS = 1.9;

/**
 * Whether a part's own normal map is the surface of its old material alone, so that nothing is missed under a finish: flat,
 * or alike all over and either level or repeating. Seams, folds, buttons and rounded edges stand out of their surroundings.
 */
export function isPlainRelief({ middleDegrees, steepDegrees, formDegrees, repeats }: ReliefFacts): boolean {
  if (steepDegrees < FLAT_DEGREES) return true;
  if (steepDegrees > EVEN * middleDegrees) return false;
  return formDegrees < LEVEL_DEGREES || (repeats !== null && repeats >= REPEATS);
}

/** The directions finishes take on a part by themselves, where the part bears them out clearly; see `proposeGrain`. */
function listOwnDirections(facts: GrainFacts | null): Partial<Record<Family, number>> {
  if (!facts) return {};
  const clear = (proposal: ReturnType<typeof proposeAlongLength>) =>
    proposal?.confidence === 'clear' && proposal.grainDegrees !== null ? proposal.grainDegrees : null;
  const [wood, textile] = [clear(proposeAlongLength(facts)), clear(proposeForCloth(facts, 'warp'))];
  return { ...(wood !== null && { wood }), ...(textile !== null && { textile }) };
}

/**
 * Slots with what nobody has said of them filled in from the model: wood then lies along the part and cloth hangs, and the
 * finish's weave is shown where the part's own normal map has no seams. What a person has said stays, a 0 as well.
 */
export function fillSlotDefaults(slots: readonly Slot[], survey: Survey | null): Slot[] {
  return slots.map((slot) => fillSlotDefault(slot, survey));
}

export function fillSlotDefault(slot: Slot, survey: Survey | null): Slot {
  const { said } = slot;
  const material = survey?.materials[slot.materials[0] ?? -1];
  if (!said || !material) return slot;
  const plain = !said.includes('normal') && material.relief !== null && isPlainRelief(material.relief);
  return {
    ...slot,
    ...(plain && { keep: { ...slot.keep, normal: 'finish' as const } }),
    ...(!said.includes('grain') && { directions: listOwnDirections(material.grain) }),
  };
}

/** A direction for a slot, to be taken over by a person: what is stored on the slot is what counts. */
export interface GrainProposal {
  /** Whole degrees counter-clockwise, 0–179, as a slot has them; null where no one turn would be right. */
  readonly grainDegrees: number | null;
  /** `weak`: to be looked at before it is used. */
  readonly confidence: 'clear' | 'weak';
  /** Why, in a sentence. */
  readonly reason: string;
}

/**
 * Surfaces that ask for turns spread by 13° about their mean (the standard deviation that goes with this length of the mean
 * of doubled angles) agree; beyond 34° no turn serves them. Judgement.
 */
const AGREES = 0.9;
const SERVES = 0.5;
/**
 * Where pieces of at least so much of the surface have a longer direction they lead, and the others lie as they come;
 * below `MOST` that is to be looked at. Judgement.
 */
const LEADS = 0.2;
const MOST = 0.75;
/** A part half as long again as broad is seen to have a length. Judgement. */
const LONG = 1.5;
/** UVs drawn by hand are off by as much; a quarter turn is then meant. Judgement. */
const SQUARE = 2;
/** Two rules that come to turns nearer than this say the same. Judgement. */
const ALIKE = 15;
/** Lying or standing all but for so much is said plainly. */
const ALL_BUT = 0.15;

/**
 * Proposes how finishes lie on a part, by common practice: veneer with its grain along the longer direction, cloth with its
 * warp down the back and front to back on the seat. A part without a longer direction has its veneer laid as cloth is, and
 * so has what may take both the rule of the more numerous.
 * @param families of the finishes the slot may take, one for each finish
 * @returns null where none of them has a direction, and where the part has no UVs to lay one by
 */
export function proposeGrain(facts: GrainFacts | null, families: readonly Family[]): GrainProposal | null {
  const woods = families.filter((family) => family === 'wood').length;
  const cloths = families.filter((family) => family === 'textile').length;
  if (!facts || woods + cloths === 0) return null;
  const [first, other] = woods >= cloths ? (['wood', cloths] as const) : (['cloth', woods] as const);
  const proposal = first === 'wood' ? proposeAlongLength(facts) : proposeForCloth(facts, 'warp');
  if (!proposal || other === 0) return proposal;
  const second = first === 'wood' ? proposeForCloth(facts, 'warp') : proposeAlongLength(facts);
  if (proposal.grainDegrees === null || second?.grainDegrees == null) return proposal;
  if (distance(proposal.grainDegrees, second.grainDegrees) <= ALIKE) return proposal;
  const reason = GRAIN_REASONS.otherFamily(proposal.reason, first === 'wood', second.grainDegrees);
  return { ...proposal, confidence: 'weak', reason };
}

/** The direction of veneer, whatever else the slot may take. */
export function proposeAlongLength(facts: GrainFacts): GrainProposal | null {
  const { along, elongation } = facts;
  if (!along || along.share < LEADS) {
    const proposal = proposeForCloth(facts, 'grain');
    if (proposal?.grainDegrees == null) return proposal;
    return { ...proposal, confidence: 'weak', reason: GRAIN_REASONS.noLength(proposal.reason) };
  }
  if (along.agreement < SERVES) return refuseTurn(along, 'length');
  const doubts = [...(elongation < LONG ? [GRAIN_REASONS.short(elongation)] : []), ...listDoubts(along)];
  return {
    grainDegrees: toWhole(along.degrees),
    confidence: doubts.length === 0 ? 'clear' : 'weak',
    reason: GRAIN_REASONS.withDoubts(GRAIN_REASONS.alongLength(elongation < LONG ? null : elongation), doubts),
  };
}

/** The direction of cloth, whatever else the slot may take. */
export function proposeForCloth({ hanging, lying }: GrainFacts, thread: 'warp' | 'grain'): GrainProposal | null {
  if (!hanging) return null;
  const lies = lying >= 1 - ALL_BUT ? 'all' : lying <= ALL_BUT ? 'none' : 'some';
  if (hanging.agreement < SERVES) return refuseTurn(hanging, lies);
  const doubts = listDoubts(hanging);
  return {
    grainDegrees: toWhole(hanging.degrees),
    confidence: doubts.length === 0 ? 'clear' : 'weak',
    reason: GRAIN_REASONS.withDoubts(GRAIN_REASONS.cloth(thread, lies), doubts),
  };
}

/** A proposal of no turn, since no single one would be right. */
function refuseTurn({ agreement }: GrainTurn, wanted: 'length' | 'all' | 'none' | 'some'): GrainProposal {
  return { grainDegrees: null, confidence: 'weak', reason: GRAIN_REASONS.mixedUvs(wanted, agreement) };
}

function listDoubts({ agreement, share }: GrainTurn): string[] {
  return [
    ...(agreement < AGREES ? [GRAIN_REASONS.disagreement(agreement)] : []),
    ...(share < MOST ? [GRAIN_REASONS.smallShare(share)] : []),
  ];
}

/** Whole degrees, and a quarter turn where it is nearly one. */
function toWhole(degrees: number): number {
  const quarter = Math.round(degrees / 90) * 90;
  return (Math.abs(degrees - quarter) <= SQUARE ? quarter : Math.round(degrees)) % 180;
}

/** Between directions without a head, 0–90. */
function distance(a: number, b: number): number {
  const apart = Math.abs(a - b) % 180;
  return Math.min(apart, 180 - apart);
}

/** A direction in a view. */
export interface ProjectedGrain {
  /** Degrees counter-clockwise from the right, 0 up to 180. */
  readonly degrees: number;
  /** 1 where the direction is the same all over what is seen, 0 where every one is as good. */
  readonly agreement: number;
}

/**
 * How the grain runs on the marked piece when a slot lays it at so many degrees: the main axis of the products of its
 * directions. Null where it cannot be told, since steps in U and V are nothing there.
 */
export function projectGrain(
  { uu, uv, vv }: Pick<GrainMark, 'uu' | 'uv' | 'vv'>,
  grainDegrees: number,
): ProjectedGrain | null {
  const turn = (grainDegrees * Math.PI) / 180;
  const [s, c] = [Math.sin(turn), Math.cos(turn)];
  const [xx, xy, yy] = [0, 1, 2].map((k) => uu[k]! * s * s + uv[k]! * s * c + vv[k]! * c * c) as [
    number,
    number,
    number,
  ];
  const [difference, mixed] = [xx - yy, 2 * xy];
  if (!(xx + yy > 0)) return null;
  const degrees = (Math.atan2(mixed, difference) * 90) / Math.PI;
  return { degrees: (degrees + 180) % 180, agreement: Math.min(1, Math.hypot(difference, mixed) / (xx + yy)) };
}
