import { describe, expect, it } from 'vitest';
import type { ImageContent, Piece, SurveyedImage } from '../../server/core/product/survey.ts';
import { listCauses } from '../../web/pages/product/contents/contents-section.tsx';
import {
  describeMap,
  formatArea,
  listFacts,
  listUvFacts,
  nameMap,
} from '../../web/pages/product/contents/describe-contents.ts';
import {
  filterGroups,
  groupIdentical,
  planSeparations,
  tickPieces,
} from '../../web/pages/product/pieces/pieces-model.ts';
import { drawBoxes, SIDES } from '../../web/pages/product/pieces/pieces-section.tsx';
import { makeSurvey } from '../support/make-survey.ts';

const grey = { mean: 0.5, min: 0.5, max: 0.5, spread: 0 };
const content: ImageContent = {
  channels: [grey, grey, grey],
  linearMean: [0.2, 0.2, 0.2],
  constant: true,
  hasAlpha: false,
  normal: { unit: 0, outward: 0 },
  colour: { hex: '#808080', deltaE: 0 },
};
const map = (use: string) => ({ use, texture: 0, image: 0, texCoord: 0 });
const image = (given: Partial<ImageContent>): SurveyedImage => ({
  index: 0,
  name: '',
  mimeType: 'image/png',
  widthPx: 4,
  heightPx: 4,
  bytes: 100,
  usedBy: [],
  content: { ...content, ...given },
  undecodable: null,
  damaged: false,
  misplaced: false,
  jpegQuality: null,
});

describe('the content of a map', () => {
  it('is described by the use of the map', () => {
    const colour = map('pbrMetallicRoughness.baseColorTexture');
    expect(describeMap(colour, image({}))).toBe('single colour, no map needed, mean #808080');
    expect(
      describeMap(colour, image({ constant: false, hasAlpha: true, colour: { hex: '#a97c50', deltaE: 14.2 } })),
    ).toBe('pattern, ΔE 14, mean #a97c50, with alpha');
    // glTF 2.0, 3.9.2: roughness is in green, metalness in blue
    const channels = [grey, { mean: 0.6, min: 0.4, max: 0.8, spread: 0.1 }, { ...grey, mean: 1, min: 1, max: 1 }];
    expect(describeMap(map('pbrMetallicRoughness.metallicRoughnessTexture'), image({ channels }))).toBe(
      'roughness 0.60 (0.40–0.80), metalness 1.00 everywhere',
    );
    expect(describeMap(map('normalTexture'), image({ constant: false, normal: { unit: 1, outward: 1 } }))).toBe(
      'plausible',
    );
    expect(describeMap(map('normalTexture'), image({ constant: false, normal: { unit: 0.3, outward: 1 } }))).toBe(
      '30 % of unit length, 100 % pointing outward',
    );
  });

  it('is not guessed if the map cannot be read', () => {
    expect(describeMap(map('normalTexture'), { ...image({}), content: null, undecodable: 'the file ends early' })).toBe(
      'cannot be read: the file ends early',
    );
    expect(describeMap(map('normalTexture'), undefined)).toBe('not analysed');
    expect(nameMap(map('extensions.KHR_materials_sheen.sheenRoughnessTexture'))).toBe('Sheen roughness');
  });
});

describe('measurements of a model', () => {
  it('use a unit that suits their size', () => {
    expect(formatArea(1.9341)).toBe('1.93 m²');
    // 1 m² is 10,000 cm²
    expect(formatArea(0.00194)).toBe('19.4 cm²');
    expect(formatArea(19_341)).toBe('19,341 m²');
  });

  it('describe UVs, and leave out shares near zero', () => {
    const [material] = makeSurvey(['oak'], [[{ material: 0 }]]).materials;
    expect(listUvFacts(material!)).toEqual([
      '100 % of the UV square used',
      'stretch 1',
      '1 UV unit is 1 m',
      'repeats appear at 100–100 % of their size',
    ]);
    expect(listUvFacts({ ...material!, uv: null })).toEqual(['none']);
  });

  it('list the other contents and the unused ones', () => {
    const survey = makeSurvey(['oak'], [[{ material: 0 }]], { widthMm: 460, depthMm: 520, heightMm: 820 });
    const facts = new Map(
      listFacts(
        {
          ...survey,
          box: { min: [-0.23, -0.002, -0.2], max: [0.23, 0.818, 0.32] },
          counts: { ...survey.counts, lights: 1 },
          unused: { ...survey.unused, images: 2, bytes: 182_000 },
        },
        'mm',
      ),
    );
    expect(facts.get('Position')).toBe('from −2 to 818 mm in height; centre 0 mm sideways, 60 mm forward');
    expect(facts.get('Other content')).toBe('1 light');
    expect(facts.get('Unused')).toBe('2 images; 182 kB');
    expect(facts.get('Transforms')).toBe('all baked');
  });

  it('add up: all causes after the first twelve are one line', () => {
    const survey = makeSurvey(['oak'], [[{ material: 0 }]]);
    const causes = Array.from({ length: 15 }, (_, at) => ({ cause: `cause ${at}`, bytes: 100 - at }));
    const told = listCauses({ ...survey, bytes: 10_000, weight: { ...survey.weight, causes } });
    expect(told).toHaveLength(13);
    expect(told.reduce((sum, { bytes }) => sum + bytes, 0)).toBe(causes.reduce((sum, { bytes }) => sum + bytes, 0));
  });
});

describe('choosing pieces', () => {
  const survey = makeSurvey(['Baked', 'Baked', 'Glides'], [[{ material: 0 }], [{ material: 1 }], [{ material: 2 }]]);
  const piece = (id: string, shape: string, material: number | null, given: Partial<Piece> = {}): Piece => ({
    piece: id,
    shape,
    material,
    triangles: 12,
    areaM2: 0.1,
    box: { min: [0, 0, 0], max: [1, 1, 1] },
    primitives: [],
    nodes: [`node ${id}`],
    part: null,
    hex: '#a97c50',
    ...given,
  });
  const pieces = [
    piece('1', 'leg', 0),
    piece('2', 'leg', 0, { hex: '#2f4d7a' }),
    piece('3', 'seat', 2, { areaM2: 0.9 }),
    piece('4', 'leg', 1),
    piece('5', 'bolt', null, { areaM2: 0.01 }),
  ];

  it('groups identical pieces of one material into a row, the largest first', () => {
    const groups = groupIdentical(pieces);
    expect(groups.map((group) => group.pieces.map((one) => one.piece))).toEqual([['3'], ['1', '2'], ['4'], ['5']]);
    expect(groups[1]!.colours).toEqual(['#a97c50', '#2f4d7a']);
    expect(groups[1]!.areaM2).toBeCloseTo(0.2);
  });

  it('finds pieces by all typed words', () => {
    const groups = groupIdentical(pieces);
    expect(filterGroups(groups, 'GLIDES', survey).map(({ key }) => key)).toEqual(['2 seat']);
    expect(filterGroups(groups, 'baked #2f4d7a', survey)).toHaveLength(1);
    expect(filterGroups(groups, 'baked glides', survey)).toHaveLength(0);
    expect(filterGroups(groups, ' ', survey)).toHaveLength(4);
  });

  it('separates the ticked pieces of each material; a material without a unique name is named by its pointer', () => {
    const ticked = tickPieces(new Set(), [pieces[0]!, pieces[2]!, pieces[3]!, pieces[4]!], true);
    expect(planSeparations(pieces, ticked, 'legs', survey)).toEqual([
      { repair: 'separate-pieces', material: '/materials/0', groups: [{ name: 'legs', pieces: ['1'] }] },
      { repair: 'separate-pieces', material: 'Glides', groups: [{ name: 'legs', pieces: ['3'] }] },
      { repair: 'separate-pieces', material: '/materials/1', groups: [{ name: 'legs', pieces: ['4'] }] },
    ]);
    expect(tickPieces(ticked, pieces, false).size).toBe(0);
  });

  it('draws all boxes to one scale, and the side view with the front on the left', () => {
    const whole = { min: [0, 0, 0], max: [1, 2, 1] };
    expect(drawBoxes([whole], whole, SIDES.front, 100, 100)).toBe('M25 0H75V100H25Z');
    // +Z is the front (glTF 2.0, 3.4), and seen from +X it is on the left
    const front = { min: [0, 0, 0.5], max: [1, 1, 1] };
    expect(drawBoxes([front], whole, SIDES.side, 100, 100)).toBe('M25 50H50V100H25Z');
  });
});
