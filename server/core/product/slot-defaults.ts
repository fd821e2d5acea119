import type { Family } from '../finish/finish.ts';
import { proposeAlongLength, proposeForCloth } from './grain-direction.ts';
import type { Slot } from './slot.ts';
import type { GrainFacts, ReliefFacts, Survey } from './survey.ts';

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
