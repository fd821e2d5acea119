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
          makeFinding('constant-map', {
            where: `/images/${image.index}`,
            place: placeOfImage(survey, image),
            message: `Every pixel of this image is ${image.content.colour.hex}: a factor of the material would say the same and weigh nothing.`,
            seen: image.content.colour.hex,
            expected: 'a factor',
          }),
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
        makeFinding('image-undecodable', {
          where: `/images/${image.index}`,
          place: placeOfImage(survey, image),
          message: image.damaged
            ? `This image cannot be decoded: ${image.undecodable}. Deliveries and pictures are made without it. Export the model again with this image whole.`
            : `This image cannot be read here: ${image.undecodable}. Viewers may show the part without it. Export the model again with this image as PNG or JPEG.`,
          seen: image.undecodable,
          expected: 'an image that can be decoded',
        }),
      );
    }
    if (image.misplaced && !image.damaged) {
      findings.push(
        makeFinding('image-misplaced', {
          where: `/images/${image.index}`,
          place: placeOfImage(survey, image),
          message:
            image.mimeType === KTX2
              ? 'A texture names this KTX2 image without the extension for it, and viewers cannot decode it so. Deliveries and pictures name it by KHR_texture_basisu. Have the exporter write that extension.'
              : 'A texture names this image as KTX2, which it is not, and viewers cannot decode it so. Deliveries and pictures name it as what it is. Have the exporter mend that.',
          seen: image.mimeType,
          expected: 'KTX2 under KHR_texture_basisu, and nothing else under it',
        }),
      );
    }
    if (image.jpegQuality !== null && image.jpegQuality < budget.jpegQuality) {
      findings.push(
        makeFinding('texture-quality', {
          where: `/images/${image.index}`,
          place: placeOfImage(survey, image),
          message: `This JPEG was written at a quality of about ${image.jpegQuality}; 80–90 is usual for the web and 90–100 for masters (common practice). Ask for a better one if its blocks can be seen; writing it again does not bring back what is lost.`,
          seen: image.jpegQuality,
          expected: `${budget.jpegQuality} or more`,
        }),
      );
    }
    return findings;
  });
}

const MAP_WORDS: Readonly<Record<string, string>> = {
  baseColorTexture: 'colour map',
  metallicRoughnessTexture: 'roughness and metalness map',
  normalTexture: 'normal map',
  occlusionTexture: 'occlusion map',
  emissiveTexture: 'emission map',
};

/** An image for a person: its name, and what it is to which material. */
export function placeOfImage(survey: Survey, { name, index, usedBy }: SurveyedImage): string {
  const label = name ? `image “${name}”` : `image ${index}`;
  const [, material, use] = /^materials\/(\d+)\/(?:.*\/)?(\w+)$/.exec(usedBy[0] ?? '') ?? [];
  const owner = material === undefined ? undefined : survey.materials[Number(material)];
  if (!owner || use === undefined) return label;
  const more = usedBy.length > 1 ? `, and ${usedBy.length - 1} more` : '';
  return `${label}, ${MAP_WORDS[use] ?? 'map'} of ${owner.name ? `“${owner.name}”` : `unnamed material ${owner.index}`}${more}`;
}
