import type { Family } from '../finish/finish.ts';
import { GRAIN_REASONS } from '../texts/finish-notes.ts';
import type { Slot } from './slot.ts';
import type { GrainFacts, GrainMark, GrainTurn, ReliefFacts, Survey } from './survey.ts';

/** Slopes below this are invisible under another finish. Judgement. */
const FLAT_DEGREES = 1.5;
/**
 * The steepest patches of a weave are hardly steeper than its median patch. A seam is several times as steep.
 * Judgement.
 */
const EVEN = 1.8;
/** Each patch of a weave is level as a whole. Judgement. */
const LEVEL_DEGREES = 4;
/** A map that repeats over the part cannot contain a seam, which has one place. Two repeats, with room for rounding. */
const REPEATS = 1.9;

/**
 * Whether a part's normal map shows only the surface of its old material, so that a finish may replace it. Such a map
 * is flat, or is even and either level or repeating. Seams, folds, buttons and rounded edges differ from their
 * surroundings.
 */
export function isPlainRelief({ middleDegrees, steepDegrees, formDegrees, repeats }: ReliefFacts): boolean {
  if (steepDegrees < FLAT_DEGREES) return true;
  if (steepDegrees > EVEN * middleDegrees) return false;
  return formDegrees < LEVEL_DEGREES || (repeats !== null && repeats >= REPEATS);
}

/** The directions of finishes on a part, where the part clearly determines them; see `proposeGrain`. */
function listOwnDirections(facts: GrainFacts | null): Partial<Record<Family, number>> {
  if (!facts) return {};
  const clear = (proposal: ReturnType<typeof proposeAlongLength>) =>
    proposal?.confidence === 'clear' && proposal.grainDegrees !== null ? proposal.grainDegrees : null;
  const [wood, textile] = [clear(proposeAlongLength(facts)), clear(proposeForCloth(facts, 'warp'))];
  return { ...(wood !== null && { wood }), ...(textile !== null && { textile }) };
}

/**
 * Fills in slot settings that nobody has made, from the model. Wood then runs along the part and cloth hangs. The
 * finish's weave shows if the part's own normal map has no seams. Settings a person made stay, including 0.
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

/** A proposed direction for a slot. It counts only once a person stores it on the slot. */
interface GrainProposal {
  /** Whole degrees counter-clockwise, 0–179, as stored on a slot; null if no single turn would be right. */
  readonly grainDegrees: number | null;
  /** `weak`: needs a look before use. */
  readonly confidence: 'clear' | 'weak';
  /** The reason, in a sentence. */
  readonly reason: string;
}

/**
 * Directions agree if they spread by up to 13° about their mean (the standard deviation for this length of the mean of
 * doubled angles). Beyond 34°, no single turn fits. Judgement.
 */
const AGREES = 0.9;
const SERVES = 0.5;
/**
 * If pieces with a longer direction cover at least this share of the surface, they decide and the others follow. Below
 * `MOST` the proposal needs a look. Judgement.
 */
const LEADS = 0.2;
const MOST = 0.75;
/** From this ratio of length to breadth, a part looks elongated. Judgement. */
const LONG = 1.5;
/** Tolerance of hand-drawn UVs, degrees. Within it, a quarter turn is intended. Judgement. */
const SQUARE = 2;
/** Turns closer than this, in degrees, count as equal. Judgement. */
const ALIKE = 15;
/** If at most this share differs, the message says lying or standing without qualification. */
const ALL_BUT = 0.15;

/**
 * Proposes the direction of finishes on a part, by common practice. Veneer grain runs along the longer direction. The
 * warp of cloth runs down the back, and front to back on the seat. On a part without a longer direction, veneer is laid
 * like cloth. For a slot that takes both, the more numerous kind decides.
 * @param families of the finishes the slot may take, one for each finish
 * @returns null if none of them has a direction, or if the part has no UVs
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

/** The direction of veneer, whatever else the slot takes. */
function proposeAlongLength(facts: GrainFacts): GrainProposal | null {
  const { along, elongation } = facts;
  if (!along || along.share < LEADS) {
    const proposal = proposeForCloth(facts, 'grain');
    if (proposal?.grainDegrees == null) return proposal;
    return { ...proposal, confidence: 'weak', reason: GRAIN_REASONS.noLength(proposal.reason) };
  }
  if (along.agreement < SERVES) return proposeNoTurn(along, 'length');
  const doubts = [...(elongation < LONG ? [GRAIN_REASONS.short(elongation)] : []), ...listDoubts(along)];
  return {
    grainDegrees: toWhole(along.degrees),
    confidence: doubts.length === 0 ? 'clear' : 'weak',
    reason: GRAIN_REASONS.withDoubts(GRAIN_REASONS.alongLength(elongation < LONG ? null : elongation), doubts),
  };
}

/** The direction of cloth, whatever else the slot takes. */
function proposeForCloth({ hanging, lying }: GrainFacts, thread: 'warp' | 'grain'): GrainProposal | null {
  if (!hanging) return null;
  const lies = lying >= 1 - ALL_BUT ? 'all' : lying <= ALL_BUT ? 'none' : 'some';
  if (hanging.agreement < SERVES) return proposeNoTurn(hanging, lies);
  const doubts = listDoubts(hanging);
  return {
    grainDegrees: toWhole(hanging.degrees),
    confidence: doubts.length === 0 ? 'clear' : 'weak',
    reason: GRAIN_REASONS.withDoubts(GRAIN_REASONS.cloth(thread, lies), doubts),
  };
}

/** A proposal without a turn, because no single turn would be right. */
function proposeNoTurn({ agreement }: GrainTurn, wanted: 'length' | 'all' | 'none' | 'some'): GrainProposal {
  return { grainDegrees: null, confidence: 'weak', reason: GRAIN_REASONS.mixedUvs(wanted, agreement) };
}

function listDoubts({ agreement, share }: GrainTurn): string[] {
  return [
    ...(agreement < AGREES ? [GRAIN_REASONS.disagreement(agreement)] : []),
    ...(share < MOST ? [GRAIN_REASONS.smallShare(share)] : []),
  ];
}

/** Rounds to whole degrees, and to a quarter turn if close to one. */
function toWhole(degrees: number): number {
  const quarter = Math.round(degrees / 90) * 90;
  return (Math.abs(degrees - quarter) <= SQUARE ? quarter : Math.round(degrees)) % 180;
}

/** The angle between two directions, 0–90°. Directions 180° apart are the same. */
function distance(a: number, b: number): number {
  const apart = Math.abs(a - b) % 180;
  return Math.min(apart, 180 - apart);
}

/** A direction in a view. */
interface ProjectedGrain {
  /** Degrees counter-clockwise from the right, 0 ≤ degrees < 180. */
  readonly degrees: number;
  /** 1 if the direction is the same everywhere in the view, 0 if all directions are equally likely. */
  readonly agreement: number;
}

/**
 * The direction of the grain on the marked piece for a slot setting in degrees: the main axis of its squared
 * directions (`uu`, `uv`, `vv`). Null where the piece has no direction, because its steps in U and V are zero.
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
