import { checkSize } from './check-size.ts';
import { type Finding, makeFinding } from './finding.ts';
import type { Product } from './product.ts';
import type { Slot } from './slot.ts';
import type { Survey } from './survey.ts';

/** What the survey of a model has to say about taking finishes. Never throws; an empty list is a good model. */
export function checkModel(product: Product, survey: Survey, slots: readonly Slot[]): Finding[] {
  return [
    ...checkValidator(survey),
    ...checkDrawn(survey),
    ...checkSize(product, survey),
    ...checkMaterials(survey, slots),
    ...checkStructure(survey),
  ];
}

/** Many good models carry one error of little consequence, so the validator's word is a warning here, not a bar. */
function checkValidator({ validator }: Survey): Finding[] {
  if (validator.errors === 0) return [];
  const first = validator.messages.find((message) => message.severity === 0);
  return [
    makeFinding('validator', {
      where: first?.pointer || '/',
      message: `The glTF validator reports ${count(validator.errors, 'error')}; the first: ${first?.message ?? 'not told'} Export the model again with this mended, or look at the delivered file in the viewer it is meant for.`,
      seen: validator.errors,
      expected: 0,
    }),
  ];
}

function checkDrawn(survey: Survey): Finding[] {
  if (survey.counts.triangles > 0) return [];
  return [
    makeFinding('nothing-to-draw', {
      where: '/scene',
      message:
        'The scene draws no triangles, so there is nothing that could take a finish. Export the model with its meshes in the scene.',
      seen: 0,
    }),
  ];
}

function checkMaterials(survey: Survey, slots: readonly Slot[]): Finding[] {
  const findings: Finding[] = [];
  const fixed = new Set(slots.filter((slot) => slot.fixed).flatMap((slot) => slot.materials));
  const names = new Map<string, number[]>();
  const drawn = survey.primitives.filter((primitive) => primitive.uses > 0 && primitive.triangles > 0);
  const withUvs = new Set(drawn.filter((primitive) => primitive.uvSets > 0).map((primitive) => primitive.material));
  for (const material of survey.materials) {
    if (material.primitives === 0) continue;
    const where = `/materials/${material.index}`;
    if (material.name) names.set(material.name, [...(names.get(material.name) ?? []), material.index]);
    else
      findings.push(
        makeFinding('unnamed-material', {
          where,
          message: 'This material has no name, so its slot is found again only by its place. Name it in the model.',
        }),
      );
    if (material.animated) {
      findings.push(
        makeFinding('animated-material', {
          where,
          message: `An animation drives “${label(material.name)}”; it goes on driving the material the model came with.`,
        }),
      );
    }
    if (fixed.has(material.index)) continue;
    if (material.metresPerUv === null && withUvs.has(material.index)) {
      findings.push(
        makeFinding('uv-scale-unknown', {
          where,
          message: `How large the UVs of “${label(material.name)}” are on the part could not be measured; maps of finishes are laid as if one unit were a metre, and may come out at the wrong size.`,
        }),
      );
    }
    if (material.maps.some((map) => map.use === 'pbrMetallicRoughness.baseColorTexture')) {
      findings.push(
        makeFinding('colour-map-blocks-recolour', {
          where: `${where}/pbrMetallicRoughness/baseColorTexture`,
          message: `“${label(material.name)}” has a colour map. A finish replaces it, and what was painted into it is not shown.`,
        }),
      );
      if (material.alphaMode !== 'OPAQUE') {
        findings.push(
          makeFinding('alpha-in-colour-map', {
            where: `${where}/pbrMetallicRoughness/baseColorTexture`,
            message: `The alpha of the colour map of “${label(material.name)}” shapes the part; it is kept under every finish.`,
          }),
        );
      }
    }
  }
  for (const [name, indices] of names) {
    if (indices.length < 2) continue;
    findings.push(
      makeFinding('duplicate-material-name', {
        where: indices.map((index) => `/materials/${index}`).join(' '),
        message: `${indices.length} materials are called “${name}”; their slots are numbered in the order of the file.`,
        seen: indices.length,
      }),
    );
  }
  const tinted = survey.primitives.filter((primitive) => primitive.hasColours && !fixed.has(primitive.material));
  if (tinted.length > 0) {
    findings.push(
      makeFinding('vertex-colours-tint', {
        where: tinted.slice(0, 3).map(at).join(' '),
        message: `${count(tinted.length, 'primitive')} ${tinted.length === 1 ? 'has' : 'have'} vertex colours, which would tint every finish; they are taken off where a slot takes finishes.`,
        seen: tinted.length,
      }),
    );
  }
  return findings;
}

function checkStructure(survey: Survey): Finding[] {
  const findings: Finding[] = [];
  if (survey.sharedMeshes.length > 0) {
    findings.push(
      makeFinding('shared-mesh', {
        where: survey.sharedMeshes
          .slice(0, 3)
          .map(({ mesh }) => `/meshes/${mesh}`)
          .join(' '),
        message: `${count(survey.sharedMeshes.length, 'mesh', 'meshes')} ${survey.sharedMeshes.length === 1 ? 'is' : 'are'} drawn by several nodes; those parts change finish together.`,
        seen: survey.sharedMeshes.length,
      }),
    );
  }
  if (survey.extensions.unknown.length > 0) {
    findings.push(
      makeFinding('unknown-extension', {
        where: '/extensionsUsed',
        message: `Unknown here: ${survey.extensions.unknown.join(', ')}. It is passed through untouched, and nothing is left out of the file.`,
        seen: survey.extensions.unknown,
      }),
    );
  }
  if (survey.variants.length > 0) {
    findings.push(
      makeFinding('carries-variants', {
        where: '/extensions/KHR_materials_variants',
        message: `The model arrived with ${count(survey.variants.length, 'variant')}; a delivery replaces them with the schedule's.`,
        seen: survey.variants,
      }),
    );
  }
  return findings;
}

const label = (name: string) => name || 'unnamed material';
const at = ({ mesh, primitive }: { mesh: number; primitive: number }) => `/meshes/${mesh}/primitives/${primitive}`;

function count(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`;
}
