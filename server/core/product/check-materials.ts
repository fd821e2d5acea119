import { count } from '../texts/format-text.ts';
import { checkMetal } from './check-metal.ts';
import { checkNames } from './check-names.ts';
import { type Finding, makeFinding } from './finding.ts';
import { labelOf, type ModelFacts, placeOf, pointerOf } from './model-facts.ts';

/** Names, metalness, animated properties and vertex colours of the materials that draw anything. */
export function checkMaterials(facts: ModelFacts): Finding[] {
  return [...checkNames(facts), ...checkMetal(facts), ...checkAnimated(facts), ...checkVertexColours(facts)];
}

function checkAnimated({ drawn }: ModelFacts): Finding[] {
  return drawn
    .filter((material) => material.animated)
    .map((material) =>
      makeFinding('animated-material', {
        where: pointerOf(material),
        place: placeOf(material),
        message: `An animation drives ${labelOf(material)}; it goes on driving the material the model came with, and no finish laid over it.`,
        seen: true,
        expected: false,
      }),
    );
}

function checkVertexColours({ survey, fixed }: ModelFacts): Finding[] {
  const tinted = survey.primitives.filter(
    (primitive) => primitive.hasColours && primitive.uses > 0 && !fixed.has(primitive.material),
  );
  const [first] = tinted;
  if (!first) return [];
  const material = first.material === null ? undefined : survey.materials[first.material];
  return [
    makeFinding('vertex-colours-tint', {
      where: `/meshes/${first.mesh}/primitives/${first.primitive}/attributes`,
      place: material ? placeOf(material) : count(tinted.length, 'primitive'),
      message: `${count(tinted.length, 'primitive')} ${tinted.length === 1 ? 'has' : 'have'} vertex colours, which would tint every finish; they are taken off where a slot takes finishes.`,
      seen: tinted.length,
      expected: 0,
    }),
  ];
}
