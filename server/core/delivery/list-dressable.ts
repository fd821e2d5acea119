import type { Slot } from '../product/slot.ts';
import type { Survey, SurveyedPrimitive } from '../product/survey.ts';

/** A primitive that a slot dresses. Those of a slot with the same `key` come to the same materials. */
export interface Dressable {
  readonly mesh: number;
  readonly primitive: number;
  readonly fact: SurveyedPrimitive;
  /**
   * What a material depends on beside slot and finish: the source material, which maps can be laid, whether there are
   * tangents, and how large a unit of the mesh is.
   */
  readonly key: string;
}

/** The primitives of each slot that the current model has, in the slot's order. */
export function makeDressableLister(survey: Survey): (slot: Slot) => Dressable[] {
  const facts = new Map(survey.primitives.map((fact) => [`${fact.mesh}/${fact.primitive}`, fact]));
  return (slot) =>
    slot.primitives.flatMap(({ mesh, primitive }) => {
      const fact = facts.get(`${mesh}/${primitive}`);
      return fact ? [{ mesh, primitive, fact, key: toKey(fact) }] : [];
    });
}

function toKey(fact: SurveyedPrimitive): string {
  const { low = 1, high = 1 } = fact.scale ?? {};
  return `${fact.material} ${fact.hasUvs} ${fact.uvSets} ${hasTangentSpace(fact)} ${low} ${high}`;
}

/** Whether a part has tangents that count: without normals they are to be ignored (glTF 2.0 §3.7.2.1). */
export function hasTangentSpace({ hasTangents, hasNormals }: SurveyedPrimitive): boolean {
  return hasTangents && hasNormals;
}
