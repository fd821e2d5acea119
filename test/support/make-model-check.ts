import { BUDGETS } from '../../server/core/product/budgets.ts';
import { checkModel, type ModelUnderCheck } from '../../server/core/product/check-model.ts';
import type { Finding, FindingCode } from '../../server/core/product/finding.ts';
import type { Product } from '../../server/core/product/product.ts';
import { deriveSlots } from '../../server/core/product/slot.ts';
import type {
  ImageContent,
  InwardPiece,
  Piece,
  Survey,
  SurveyedImage,
  SurveyedMaterial,
} from '../../server/core/product/survey.ts';
import { makeSurvey } from './make-survey.ts';

/** A chair without faults: two named materials with roughness and normal maps, 500 × 550 × 820 mm, on the floor. */
export function makeGoodSurvey(): Survey {
  const survey = makeSurvey(['Seat', 'Legs'], [[{ material: 0 }], [{ material: 1 }]], {
    widthMm: 500,
    depthMm: 550,
    heightMm: 820,
  });
  const maps = [
    { use: 'pbrMetallicRoughness.metallicRoughnessTexture', texture: 0, image: 0, texCoord: 0 },
    { use: 'normalTexture', texture: 1, image: 1, texCoord: 0 },
  ];
  return {
    ...survey,
    box: { min: [-0.25, 0, -0.275], max: [0.25, 0.82, 0.275] },
    materials: survey.materials.map((material, index) => ({
      ...material,
      maps,
      nodes: [index === 0 ? 'Seat' : 'Leg'],
    })),
    images: [
      makeImage(0, 'metallicRoughnessTexture', {
        channels: [channel(1, 0), channel(0.6, 0.1), channel(0, 0)],
      }),
      makeImage(1, 'normalTexture', { normal: { unit: 1, outward: 1 } }),
    ],
  };
}

export const channel = (mean: number, spread: number) => ({
  mean,
  spread,
  min: Math.max(0, mean - spread),
  max: Math.min(1, mean + spread),
});

export function makeContent(given: Partial<ImageContent> = {}): ImageContent {
  return {
    channels: [channel(0.5, 0.1), channel(0.5, 0.1), channel(0.5, 0.1)],
    linearMean: [0.2, 0.2, 0.2],
    constant: false,
    hasAlpha: false,
    normal: { unit: 0, outward: 0 },
    colour: { hex: '#7c7c7c', deltaE: 10 },
    ...given,
  };
}

export function makeImage(
  index: number,
  use: string,
  content: Partial<ImageContent> | null,
  given: Partial<SurveyedImage> = {},
): SurveyedImage {
  const property = use === 'normalTexture' ? use : `pbrMetallicRoughness/${use}`;
  return {
    index,
    name: '',
    mimeType: 'image/png',
    widthPx: 1024,
    heightPx: 1024,
    bytes: 1000,
    usedBy: [`materials/0/${property}`, `materials/1/${property}`],
    content: content && makeContent(content),
    undecodable: null,
    damaged: false,
    misplaced: false,
    jpegQuality: null,
    ...given,
  };
}

/** A survey with a changed first material. */
export function withMaterial(survey: Survey, given: Partial<SurveyedMaterial>): Survey {
  const [first, ...others] = survey.materials;
  return { ...survey, materials: [{ ...first!, ...given }, ...others] };
}

/** A survey whose first material has a colour map of this content. */
export function withColourMap(survey: Survey, content: Partial<ImageContent> | null): Survey {
  const index = survey.images.length;
  const map = { use: 'pbrMetallicRoughness.baseColorTexture', texture: index, image: index, texCoord: 0 };
  const images = [...survey.images, makeImage(index, 'baseColorTexture', content)];
  return withMaterial({ ...survey, images }, { maps: [...survey.materials[0]!.maps, map] });
}

export const CHAIR: Product = {
  code: 'CHAIR',
  name: 'Chair',
  line: null,
  class: 'dining-chair',
  mount: 'floor',
  sheet: null,
  budget: 'web-catalogue',
};

/** Checks a survey as a chair for the web catalogue, with derived slots by default. */
export function check(survey: Survey, given: Partial<ModelUnderCheck> = {}): Finding[] {
  return checkModel({ product: CHAIR, slots: deriveSlots(survey), budget: BUDGETS[0]!, ...given, survey });
}

export function findAll(findings: readonly Finding[], code: FindingCode): Finding[] {
  return findings.filter((finding) => finding.code === code);
}

/** Pieces of one material in two shapes, such as four legs and a seat: with different sizes, colours and names. */
export function makePieces(material: number | null, legs = 4): Piece[] {
  const piece = (index: number, part: 'Leg' | 'Seat'): Piece => ({
    piece: `${part === 'Leg' ? 'a' : 'b'}${String(index).padStart(11, '0')}`,
    shape: part === 'Leg' ? 'aaaaaaaaaaaa' : 'bbbbbbbbbbbb',
    material,
    triangles: part === 'Leg' ? 12 : 200,
    areaM2: part === 'Leg' ? 0.1 : 0.5,
    box: { min: [index, 0, 0], max: part === 'Leg' ? [index + 0.04, 0.45, 0.04] : [index + 0.5, 0.05, 0.5] },
    primitives: [{ mesh: 0, primitive: 0 }],
    nodes: [`${part}.${index}`],
    part: `${part}.${index}`,
    hex: part === 'Leg' ? '#202020' : '#d0a070',
  });
  return [...Array.from({ length: legs }, (_, index) => piece(index, 'Leg')), piece(legs, 'Seat')];
}

/** A piece with a negative volume and normals that point inward, on the first material. @param id one hexadecimal digit */
export function makeInwardPiece(id: string, given: Partial<InwardPiece> = {}): InwardPiece {
  return {
    piece: id.repeat(12),
    shape: '123456789abc',
    material: 0,
    nodes: ['Seat'],
    areaM2: 1,
    turn: 'both',
    by: 'volume',
    certain: true,
    ...given,
  };
}
