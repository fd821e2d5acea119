import type { Slot } from '../product/slot.ts';
import type { Survey, SurveyedPrimitive } from '../product/survey.ts';

/** A primitive that a slot dresses. Those of a slot with the same `key` come to the same materials. */
export interface Dressable {
  readonly mesh: number;
  readonly primitive: number;
  readonly fact: SurveyedPrimitive;
  /** What a material depends on beside slot and finish: the source material, and whether maps can be laid. */
  readonly key: string;
}

/** The primitives of each slot that the current model has, in the slot's order. */
export function makeDressableLister(survey: Survey): (slot: Slot) => Dressable[] {
  const facts = new Map(survey.primitives.map((fact) => [`${fact.mesh}/${fact.primitive}`, fact]));
  return (slot) =>
    slot.primitives.flatMap(({ mesh, primitive }) => {
      const fact = facts.get(`${mesh}/${primitive}`);
      return fact ? [{ mesh, primitive, fact, key: `${fact.material} ${fact.uvSets > 0}` }] : [];
    });
}
