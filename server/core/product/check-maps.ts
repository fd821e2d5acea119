import { labelMaterial, PLACES } from '../texts/format-text.ts';
import { type Finding, makeFinding } from './finding.ts';
import { COLOUR_MAP, findImage, hasMap, METAL_MAP, type ModelFacts, NORMAL_MAP, pointerOf } from './model-facts.ts';
import { readNormalKeep } from './slot.ts';
import type { Survey, SurveyedImage, SurveyedMaterial } from './survey.ts';

/**
 * Mean ΔE*ab of texels from a map's mean colour. Above it the map has a pattern; below it the map looks like one
 * colour.
 */
const PATTERN_DELTA_E = 2;

/**
 * Limits of a plausible normal map: at least half of its texels have about unit length, and nearly all point out of the
 * surface (glTF 2.0 requires blue above one half). Judgement, between measured values. Maps of real products, original
 * or compressed to a quality of 30, have 79 % or more. Colour, roughness and height maps that point out have 25 % at
 * most.
 */
const NORMAL = { unit: 0.5, outward: 0.98 } as const;

/** An even metalness between these is neither metal nor non-metal. No real surface has one. Judgement. */
const HALF_METAL = { low: 0.2, high: 0.8, spread: 0.1 } as const;

/** Checks the maps of materials that take finishes, and reports missing ones. */
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
  return [
    makeFinding(
      'colour-map-blocks-recolour',
      { label: labelMaterial(material), content: content ? { ...content.colour, isPatterned: patterned } : null },
      {
        where: `${pointerOf(material)}/pbrMetallicRoughness/baseColorTexture`,
        place: PLACES.material(material),
        seen: content ? content.colour : null,
        expected: 'no colour map, or neutral detail',
        ...(patterned ? { repairs: [{ repair: 'neutral-detail', materials: [refer(material)] }] } : {}),
      },
    ),
  ];
}

function checkAlpha(material: SurveyedMaterial): Finding[] {
  if (material.alphaMode === 'OPAQUE' || !hasMap(material, COLOUR_MAP)) return [];
  return [
    makeFinding(
      'alpha-in-colour-map',
      { label: labelMaterial(material) },
      {
        where: `${pointerOf(material)}/pbrMetallicRoughness/baseColorTexture`,
        place: PLACES.material(material),
        seen: material.alphaMode,
        expected: 'OPAQUE, or alpha that shapes the part',
      },
    ),
  ];
}

/** One finding per map, for any number of materials. A part that does not keep its normal map is not affected. */
function checkNormalMaps({ survey, slots, open }: ModelFacts): Finding[] {
  const isKept = (material: SurveyedMaterial) =>
    slots.every((slot) => !slot.materials.includes(material.index) || readNormalKeep(slot.keep.normal) !== 'finish');
  const images = new Set(open.filter(isKept).flatMap((material) => findImage(survey, material, NORMAL_MAP) ?? []));
  return [...images].flatMap((image) => {
    const normal = image.content?.normal;
    if (!normal || (normal.unit >= NORMAL.unit && normal.outward >= NORMAL.outward)) return [];
    return [
      makeFinding('implausible-map', normal, {
        where: `/images/${image.index}`,
        place: placeOfImage(survey, image),
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
      'implausible-map:metalness',
      { label: labelMaterial(material), mean },
      {
        where: `${pointerOf(material)}/pbrMetallicRoughness/metallicRoughnessTexture`,
        place: PLACES.material(material),
        seen: mean,
        expected: '0 or 1',
      },
      'note',
    ),
  ];
}

/** Expects base colour, roughness and normal (common practice). A colour factor is as good as a colour map. */
function checkMissing({ open }: ModelFacts): Finding[] {
  const lacking = open.filter((material) => !hasMap(material, METAL_MAP) || !hasMap(material, NORMAL_MAP));
  if (lacking.length === 0) return [];
  const without = (use: typeof METAL_MAP | typeof NORMAL_MAP) => lacking.filter((material) => !hasMap(material, use));
  const [roughness, normal] = [without(METAL_MAP), without(NORMAL_MAP)];
  return [
    makeFinding(
      'missing-map',
      { roughness: roughness.map(nameOf), normal: normal.map(nameOf) },
      {
        where: pointerOf(lacking[0]!),
        place: PLACES.materials(lacking.length),
        seen: { withoutRoughness: roughness.map(nameOf), withoutNormal: normal.map(nameOf) },
        expected: 'base colour, roughness and normal',
      },
    ),
  ];
}

const nameOf = ({ name, index }: SurveyedMaterial) => name || `unnamed material ${index}`;

const KTX2 = 'image/ktx2';

/** Checks all images, whatever their use. */
export function checkImages(facts: ModelFacts): Finding[] {
  return [...checkConstant(facts), ...checkReadable(facts)];
}

function checkConstant({ survey, open }: ModelFacts): Finding[] {
  return listUsed(survey, open).flatMap((image) =>
    image.content?.constant
      ? [
          makeFinding(
            'constant-map',
            { hex: image.content.colour.hex },
            {
              where: `/images/${image.index}`,
              place: placeOfImage(survey, image),
              seen: image.content.colour.hex,
              expected: 'a factor',
            },
          ),
        ]
      : [],
  );
}

/** Images that any of these materials uses. */
export function listUsed(survey: Survey, materials: readonly SurveyedMaterial[]): SurveyedImage[] {
  const used = new Set(materials.flatMap((material) => material.maps.map((map) => map.image)));
  return survey.images.filter((image) => used.has(image.index));
}

/** Includes images of fixed materials, because pictures show those parts too. */
function checkReadable({ survey, budget, drawn }: ModelFacts): Finding[] {
  return listUsed(survey, drawn).flatMap((image) => {
    const findings: Finding[] = [];
    if (image.undecodable !== null) {
      findings.push(
        makeFinding(
          image.damaged ? 'image-undecodable:damaged' : 'image-undecodable',
          { reason: image.undecodable },
          {
            where: `/images/${image.index}`,
            place: placeOfImage(survey, image),
            seen: image.undecodable,
            expected: 'an image that can be decoded',
          },
        ),
      );
    }
    if (image.misplaced && !image.damaged) {
      findings.push(
        makeFinding(
          'image-misplaced',
          { isKtx2: image.mimeType === KTX2 },
          {
            where: `/images/${image.index}`,
            place: placeOfImage(survey, image),
            seen: image.mimeType,
            expected: 'KTX2 under KHR_texture_basisu, and nothing else under it',
          },
        ),
      );
    }
    if (image.jpegQuality !== null && image.jpegQuality < budget.jpegQuality) {
      findings.push(
        makeFinding(
          'texture-quality',
          { quality: image.jpegQuality },
          {
            where: `/images/${image.index}`,
            place: placeOfImage(survey, image),
            seen: image.jpegQuality,
            expected: `${budget.jpegQuality} or more`,
          },
        ),
      );
    }
    return findings;
  });
}

/** An image for a person: its name, and its use in a material. */
export function placeOfImage(survey: Survey, { name, index, usedBy }: SurveyedImage): string {
  const [, material, map] = /^materials\/(\d+)\/(?:.*\/)?(\w+)$/.exec(usedBy[0] ?? '') ?? [];
  const owner = material === undefined ? undefined : survey.materials[Number(material)];
  return PLACES.image({ name, index }, owner && map ? { map, material: owner } : null, usedBy.length - 1);
}
