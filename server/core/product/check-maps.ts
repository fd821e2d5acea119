import { count, formatPercent, listNames } from '../texts/format-text.ts';
import { placeOfImage } from './check-images.ts';
import { type Finding, makeFinding } from './finding.ts';
import {
  COLOUR_MAP,
  findImage,
  hasMap,
  labelOf,
  METAL_MAP,
  type ModelFacts,
  NORMAL_MAP,
  placeOf,
  pointerOf,
} from './model-facts.ts';
import { readNormalKeep } from './slot.ts';
import type { Survey, SurveyedMaterial } from './survey.ts';

/** Mean ΔE*ab of texels from a map's mean colour beyond which it carries pattern; below it looks like one colour. */
const PATTERN_DELTA_E = 2;

/**
 * A plausible normal map: at least half of its texels are of about unit length, and all but a few point out of the surface
 * (glTF 2.0 asks that blue be above one half). Judgement, between what was measured: maps of real products, as they came
 * and compressed down to a quality of 30, have 79 % or more; colour, roughness and height maps that point out have 25 % at
 * most.
 */
const NORMAL = { unit: 0.5, outward: 0.98 } as const;

/** A metalness between these all over is neither metal nor none, which no surface is. Judgement. */
const HALF_METAL = { low: 0.2, high: 0.8, spread: 0.1 } as const;

/** What is in the maps of materials that take finishes, and what is missing. */
export function checkMaps(facts: ModelFacts): Finding[] {
  return [
    ...facts.open.flatMap((material) => [
      ...checkColourMap(facts, material),
      ...checkAlpha(material),
      ...checkMetalMap(facts.survey, material),
    ]),
    ...checkNormalMaps(facts),
    ...checkMissing(facts),
  ];
}

function checkColourMap({ survey, refer }: ModelFacts, material: SurveyedMaterial): Finding[] {
  if (!hasMap(material, COLOUR_MAP) || material.neutralDetail) return [];
  const content = findImage(survey, material, COLOUR_MAP)?.content;
  const patterned = content !== undefined && content !== null && content.colour.deltaE > PATTERN_DELTA_E;
  const what = !content
    ? 'What is in it could not be read here.'
    : patterned
      ? `The map carries a pattern: its texels differ from their mean ${content.colour.hex} by ΔE ${content.colour.deltaE.toFixed(1)} on average. As neutral detail the pattern stays under every finish, without its hue.`
      : `It is nearly one colour (${content.colour.hex}), so nothing is missed.`;
  return [
    makeFinding('colour-map-blocks-recolour', {
      where: `${pointerOf(material)}/pbrMetallicRoughness/baseColorTexture`,
      place: placeOf(material),
      message: `${labelOf(material)} has a colour map. A finish replaces it, and what was painted into it is not shown. ${what}`,
      seen: content ? content.colour : null,
      expected: 'no colour map, or neutral detail',
      ...(patterned ? { repairs: [{ repair: 'neutral-detail', materials: [refer(material)] }] } : {}),
    }),
  ];
}

function checkAlpha(material: SurveyedMaterial): Finding[] {
  if (material.alphaMode === 'OPAQUE' || !hasMap(material, COLOUR_MAP)) return [];
  return [
    makeFinding('alpha-in-colour-map', {
      where: `${pointerOf(material)}/pbrMetallicRoughness/baseColorTexture`,
      place: placeOf(material),
      message: `The alpha of the colour map of ${labelOf(material)} shapes the part; it is kept under every finish.`,
      seen: material.alphaMode,
      expected: 'OPAQUE, or alpha that shapes the part',
    }),
  ];
}

/** One finding a map, however many materials use it. A part that does not keep its normal map does not suffer from it. */
function checkNormalMaps({ survey, slots, open }: ModelFacts): Finding[] {
  const isKept = (material: SurveyedMaterial) =>
    slots.every((slot) => !slot.materials.includes(material.index) || readNormalKeep(slot.keep.normal) !== 'finish');
  const images = new Set(open.filter(isKept).flatMap((material) => findImage(survey, material, NORMAL_MAP) ?? []));
  return [...images].flatMap((image) => {
    const normal = image.content?.normal;
    if (!normal || (normal.unit >= NORMAL.unit && normal.outward >= NORMAL.outward)) return [];
    return [
      makeFinding('implausible-map', {
        where: `/images/${image.index}`,
        place: placeOfImage(survey, image),
        message: `This normal map does not look like one: ${formatPercent(normal.unit)} of its texels are of unit length and ${formatPercent(normal.outward)} point out of the surface. Export it as a tangent-space map with blue up, or let the slot not keep its normal map.`,
        seen: normal,
        expected: { unit: `${NORMAL.unit} or more`, outward: `${NORMAL.outward} or more` },
      }),
    ];
  });
}

function checkMetalMap(survey: Survey, material: SurveyedMaterial): Finding[] {
  const blue = findImage(survey, material, METAL_MAP)?.content?.channels[2];
  if (!blue || blue.spread > HALF_METAL.spread) return [];
  const mean = blue.mean * material.factors.metallic;
  if (mean < HALF_METAL.low || mean > HALF_METAL.high) return [];
  return [
    makeFinding(
      'implausible-map',
      {
        where: `${pointerOf(material)}/pbrMetallicRoughness/metallicRoughnessTexture`,
        place: placeOf(material),
        message: `The metalness map of ${labelOf(material)} says ${mean.toFixed(2)} all over, neither metal (1) nor none (0). A finish sets its own; a part that keeps what it came with looks like neither.`,
        seen: mean,
        expected: '0 or 1',
      },
      'note',
    ),
  ];
}

/** Base colour, roughness and normal are looked for (common practice); a colour factor is as good as a colour map. */
function checkMissing({ open }: ModelFacts): Finding[] {
  const lacking = open.filter((material) => !hasMap(material, METAL_MAP) || !hasMap(material, NORMAL_MAP));
  if (lacking.length === 0) return [];
  const without = (use: typeof METAL_MAP | typeof NORMAL_MAP) => lacking.filter((material) => !hasMap(material, use));
  const [roughness, normal] = [without(METAL_MAP), without(NORMAL_MAP)];
  const told = [
    ...(roughness.length > 0 ? [`no roughness map on ${listNames(roughness.map(nameOf))}`] : []),
    ...(normal.length > 0 ? [`no normal map on ${listNames(normal.map(nameOf))}`] : []),
  ];
  return [
    makeFinding('missing-map', {
      where: pointerOf(lacking[0]!),
      place: count(lacking.length, 'material'),
      message: `There is ${told.join(', and ')}. Finishes bring their own; seams and stitches of a part are shown only by its own normal map.`,
      seen: { withoutRoughness: roughness.map(nameOf), withoutNormal: normal.map(nameOf) },
      expected: 'base colour, roughness and normal',
    }),
  ];
}

const nameOf = ({ name, index }: SurveyedMaterial) => name || `unnamed material ${index}`;
