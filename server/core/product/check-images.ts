import { PLACES } from '../texts/place-titles.ts';
import { type Finding, makeFinding } from './finding.ts';
import type { ModelFacts } from './model-facts.ts';
import type { Survey, SurveyedImage, SurveyedMaterial } from './survey.ts';

const KTX2 = 'image/ktx2';

/** What is wrong with images themselves, whichever way they are used. */
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

/** Images of every material, fixed ones too: a part that stays as it is still has to be shown. */
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

/** An image for a person: its name, and what it is to which material. */
export function placeOfImage(survey: Survey, { name, index, usedBy }: SurveyedImage): string {
  const [, material, map] = /^materials\/(\d+)\/(?:.*\/)?(\w+)$/.exec(usedBy[0] ?? '') ?? [];
  const owner = material === undefined ? undefined : survey.materials[Number(material)];
  return PLACES.image({ name, index }, owner && map ? { map, material: owner } : null, usedBy.length - 1);
}
