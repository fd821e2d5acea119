// Long because it has a case for every finding of a model, and a check that none is missing.
import { describe, expect, it } from 'vitest';
import { BUDGETS } from '../../../../server/core/product/budgets.ts';
import type { ModelUnderCheck } from '../../../../server/core/product/check-model.ts';
import { FINDINGS, type FindingCode, type Severity } from '../../../../server/core/product/finding.ts';
import type { DamageCode, Survey } from '../../../../server/core/product/survey.ts';
import { judge } from '../../../../server/core/product/verdict.ts';
import type { Repair } from '../../../../server/core/repair/repair.ts';
import {
  CHAIR,
  channel,
  check,
  findAll,
  makeContent,
  makeGoodSurvey,
  makeImage,
  makeInwardPiece,
  makePieces,
  withColourMap,
  withMaterial,
} from '../../../support/make-model-check.ts';
import { makeSlot } from '../../../support/make-survey.ts';

const good = makeGoodSurvey();
const counts = (given: Partial<Survey['counts']>): Survey => ({ ...good, counts: { ...good.counts, ...given } });
const size = (metres: readonly [number, number, number], box: Survey['box'] = null): Survey => ({
  ...good,
  size: { widthMm: metres[0] * 1000, depthMm: metres[1] * 1000, heightMm: metres[2] * 1000 },
  box,
});
/** The good chair with nearly all of its surface under one material, in five pieces. */
const baked = withMaterial(good, { areaM2: 19, pieces: 5 });
const group = (count: number) => ({ count, first: [{ node: 3, name: 'Leg' }] });
const fault = (given: Survey['faults'][number]['fault']): Survey => ({
  ...good,
  faults: [{ fault: given, count: 7, where: '/meshes/0/primitives/0' }],
});
const damaged = (code: DamageCode, where: string, what: string, used: string | null = null): Survey => ({
  ...good,
  damages: [{ code, where, what, place: 'material “Seat”', seen: '“x”', expected: 'a number', used }],
});
const inward = makeInwardPiece('a');
const uneven = { ...good.materials[0]!.uv!, sizes: { low: 0.8, high: 1.2, off: 0.5 } };
const ar = BUDGETS.find(({ name }) => name === 'ar')!;
const image = (given: Partial<Survey['images'][number]>): Survey => ({
  ...good,
  images: [{ ...good.images[0]!, ...given }, good.images[1]!],
});

interface Case {
  readonly survey: Survey;
  readonly given?: Partial<ModelUnderCheck>;
  readonly severity?: Severity;
  readonly repairs?: readonly RepairName[];
}
type RepairName = Repair['repair'];

/** A model for every code, beside the good one, which has no findings: the expected severity and proposals. */
const CASES: Partial<Record<FindingCode, readonly Case[]>> = {
  'unit-slip': [
    { survey: size([50, 55, 82]), repairs: ['scale'] },
    { survey: size([264, 609, 199]), given: { product: { ...CHAIR, class: 'none' } }, repairs: ['scale', 'scale'] },
  ],
  'size-implausible': [{ survey: size([0.5, 0.55, 8.2]) }],
  'size-off-sheet': [
    { survey: good, given: { product: { ...CHAIR, sheet: { widthMm: 400, depthMm: 550, heightMm: 820 } } } },
    {
      survey: good,
      given: { product: { ...CHAIR, sheet: { widthMm: 550, depthMm: 605, heightMm: 902 } } },
      repairs: ['scale'],
    },
  ],
  'off-mount': [
    { survey: { ...good, box: { min: [-0.25, 0.1, -0.275], max: [0.25, 0.92, 0.275] } }, repairs: ['place'] },
    { survey: good, given: { product: { ...CHAIR, mount: 'ceiling' } }, repairs: ['place'] },
    { survey: good, given: { product: { ...CHAIR, mount: 'wall' } }, repairs: ['place'] },
    // Three metres beside the origin.
    { survey: { ...good, box: { min: [2.75, 0, -0.275], max: [3.25, 0.82, 0.275] } }, repairs: ['place'] },
    // A tenth of its width off centre: many products are centred on their stem.
    {
      survey: { ...good, box: { min: [-0.2, 0, -0.275], max: [0.3, 0.82, 0.275] } },
      severity: 'note',
      repairs: ['place'],
    },
  ],
  'nothing-to-draw': [{ survey: counts({ triangles: 0 }), severity: 'error' }],
  'damaged-value': [
    { survey: damaged('damaged-value', '/materials/0/normalTexture/scale', 'normal texture, scale') },
    { survey: damaged('damaged-value', '/nodes/0/name', 'name'), severity: 'note' },
  ],
  'dangling-reference': [
    { survey: damaged('dangling-reference', '/materials/0/normalTexture/index', 'normal texture') },
    { survey: damaged('dangling-reference', '/nodes/0/camera', 'camera'), severity: 'note' },
  ],
  'damaged-animation': [{ survey: damaged('damaged-animation', '/animations/0/channels/0', 'channels 0') }],
  'no-scene': [{ survey: damaged('no-scene', '/scenes', 'scenes', 'the first scene') }],
  'undeclared-extension': [
    { survey: damaged('undeclared-extension', '/extensionsUsed', 'extensions used', 'KHR_materials_unlit') },
  ],
  'scene-lists-child': [{ survey: { ...good, scenesWithChildren: [0] }, repairs: ['fix-scene'] }],
  'unbaked-transform': [
    { survey: { ...good, transforms: { ...good.transforms, unbaked: group(2) } }, repairs: ['bake-transforms'] },
    { survey: { ...good, transforms: { ...good.transforms, negative: group(1) } }, repairs: ['bake-transforms'] },
    { survey: { ...good, transforms: { ...good.transforms, uneven: group(1) } }, repairs: ['bake-transforms'] },
  ],
  'many-pieces': [{ survey: counts({ draws: 569 }), repairs: ['merge-parts'] }],
  'too-many-draws': [
    { survey: counts({ draws: 501 }), severity: 'warning', repairs: ['merge-parts'] },
    { survey: counts({ draws: 21 }), severity: 'note', repairs: ['merge-parts'] },
  ],
  'shared-mesh': [
    { survey: { ...good, sharedMeshes: [{ mesh: 1, name: 'Leg', nodes: 4 }] }, repairs: ['unshare-mesh'] },
  ],
  'hidden-content': [{ survey: { ...good, hidden: group(1) } }],
  'broken-geometry': [
    { survey: fault('positions-not-finite'), severity: 'warning' },
    { survey: fault('index-out-of-range'), severity: 'warning' },
    { survey: fault('not-readable'), severity: 'warning' },
    { survey: fault('zero-area'), severity: 'note' },
    { survey: fault('empty-primitive'), severity: 'note' },
    { survey: fault('points-or-lines'), severity: 'note' },
  ],
  'geometry-undecodable': [{ survey: fault('undecodable'), severity: 'error' }],
  'faces-inward': [
    { survey: { ...good, inward: [inward] }, repairs: ['turn-outward'] },
    { survey: { ...good, inward: [{ ...inward, certain: false }] }, severity: 'note', repairs: ['turn-outward'] },
  ],
  'missing-normals': [
    { survey: { ...good, primitives: good.primitives.map((primitive) => ({ ...primitive, hasNormals: false })) } },
  ],
  'one-material-many-pieces': [
    { survey: baked, given: { pieces: makePieces(0) }, repairs: ['separate-pieces', 'separate-pieces'] },
    // Nothing tells them apart.
    { survey: baked, given: { pieces: makePieces(0, 8).slice(0, 5) } },
    // It may be oak throughout.
    {
      survey: withMaterial(baked, { name: 'Oak' }),
      given: { pieces: makePieces(0) },
      severity: 'note',
      repairs: ['separate-pieces', 'separate-pieces'],
    },
  ],
  'unnamed-material': [{ survey: withMaterial(good, { name: '' }), repairs: ['rename-materials'] }],
  'duplicate-material-name': [{ survey: withMaterial(good, { name: 'Legs' }), repairs: ['rename-materials'] }],
  'metal-on-nonmetal': [
    {
      survey: withMaterial(good, {
        name: 'Oak',
        maps: [],
        factors: { baseColor: [0.4, 0.2, 0.1, 1], metallic: 1, roughness: 0.6 },
      }),
      repairs: ['set-nonmetal'],
    },
  ],
  'animated-material': [{ survey: withMaterial(good, { animated: true }) }],
  'vertex-colours-tint': [
    { survey: { ...good, primitives: good.primitives.map((primitive) => ({ ...primitive, hasColours: true })) } },
  ],
  'colour-map-blocks-recolour': [
    { survey: withColourMap(good, {}), repairs: ['neutral-detail'] },
    { survey: withColourMap(good, { colour: { hex: '#7c7c7c', deltaE: 1 } }) },
    { survey: withColourMap(good, null) },
  ],
  'alpha-in-colour-map': [{ survey: withMaterial(withColourMap(good, {}), { alphaMode: 'MASK' }) }],
  'implausible-map': [
    {
      survey: {
        ...good,
        images: [good.images[0]!, makeImage(1, 'normalTexture', { normal: { unit: 0.4, outward: 1 } })],
      },
    },
    {
      survey: {
        ...good,
        images: [good.images[0]!, makeImage(1, 'normalTexture', { normal: { unit: 1, outward: 0.5 } })],
      },
    },
    {
      survey: withMaterial(
        image({ content: makeContent({ channels: [channel(1, 0), channel(0.6, 0.1), channel(0.5, 0.02)] }) }),
        { factors: { baseColor: [1, 1, 1, 1], metallic: 1, roughness: 1 } },
      ),
      severity: 'note',
    },
  ],
  'missing-map': [{ survey: withMaterial(good, { maps: [] }) }],
  'constant-map': [{ survey: image({ content: { ...good.images[0]!.content!, constant: true } }) }],
  'image-undecodable': [
    { survey: image({ content: null, undecodable: 'it ends in the middle', damaged: true }) },
    { survey: image({ content: null, undecodable: 'it is CMYK' }) },
  ],
  'image-misplaced': [{ survey: image({ mimeType: 'image/ktx2', content: null, misplaced: true }) }],
  'texture-quality': [{ survey: image({ mimeType: 'image/jpeg', jpegQuality: 62 }) }],
  'texture-too-large': [
    { survey: image({ widthPx: 4096 }), severity: 'warning', repairs: ['fit-textures'] },
    { survey: image({ heightPx: 4096, mimeType: 'image/ktx2', content: null }), severity: 'note' },
  ],
  'uv-scale-unknown': [{ survey: withMaterial(good, { metresPerUv: null }), repairs: ['box-uvs'] }],
  'missing-uv': [
    {
      survey: { ...good, primitives: [{ ...good.primitives[0]!, uvSets: 0, hasUvs: false }, good.primitives[1]!] },
      repairs: ['box-uvs'],
    },
  ],
  'uneven-density': [
    { survey: withMaterial(good, { uv: uneven }), severity: 'note', repairs: ['box-uvs'] },
    {
      survey: withMaterial(good, { maps: [], uv: { ...uneven, sizes: { low: 0.6, high: 1.5, off: 0.6 } } }),
      repairs: ['box-uvs'],
    },
  ],
  'uv-overlap': [{ survey: withMaterial(good, { uv: { ...good.materials[0]!.uv!, overlap: 0.5 } }) }],
  'uv-stretch': [{ survey: withMaterial(good, { uv: { ...good.materials[0]!.uv!, stretch: 3 } }) }],
  'file-too-heavy': [
    // Only geometry: no repair makes it lighter.
    { survey: { ...good, bytes: 4e6 }, severity: 'note' },
    { survey: { ...good, bytes: 16e6 }, given: { budget: ar }, severity: 'warning' },
    {
      survey: { ...good, bytes: 16e6, weight: { ...good.weight, images: 12e6 }, unused: { ...good.unused, bytes: 5 } },
      given: { budget: ar },
      severity: 'warning',
      repairs: ['strip-unused', 'fit-textures'],
    },
  ],
  'too-many-triangles': [{ survey: counts({ triangles: 150_001 }), severity: 'note' }],
  'unused-content': [{ survey: { ...good, unused: { ...good.unused, images: 1 } }, repairs: ['strip-unused'] }],
  'dead-bytes': [{ survey: { ...good, unused: { ...good.unused, bytes: 300 } }, repairs: ['strip-unused'] }],
  'loose-files': [{ survey: good, given: { packed: true } }],
  'carries-animation': [{ survey: counts({ animations: 1 }) }],
  'carries-variants': [{ survey: { ...good, variants: ['Red', 'Blue'] } }],
  'unknown-extension': [
    { survey: { ...good, extensions: { ...good.extensions, unknown: ['EXT_a'], used: ['EXT_a'] } }, severity: 'note' },
    {
      survey: { ...good, extensions: { ...good.extensions, unknown: ['EXT_a'], required: ['EXT_a'] } },
      severity: 'warning',
    },
  ],
  validator: [
    { survey: { ...good, validator: { ...good.validator, errors: 1 } } },
    {
      survey: {
        ...good,
        validator: {
          ...good.validator,
          errors: 1,
          messages: [
            { code: 'SCENE_NON_ROOT_NODE', severity: 0, message: 'Not a root.', pointer: '/scenes/0/nodes/1' },
          ],
        },
      },
      repairs: ['fix-scene'],
    },
  ],
  'preparation-step-unfit': [
    {
      survey: good,
      given: {
        origin: {
          kind: 'repaired',
          from: 1,
          received: 1,
          preparation: [{ repair: 'fix-scene' }],
          reports: [
            {
              repair: { repair: 'fix-scene' },
              outcome: 'unfit',
              message: 'It has no scene.',
              figures: {},
              touchesGeometry: false,
              losses: [],
            },
          ],
        },
      },
    },
  ],
};

/** Codes of other checks: of schedules, finishes and deliveries. */
const ELSEWHERE: readonly FindingCode[] = [
  'map-profile',
  'map-depth',
  'out-of-reach',
  'slot-without-finish',
  'slot-not-in-model',
  'slot-is-fixed',
  'finish-not-in-options',
  'finish-discontinued',
  'name-contains-name',
  'renamed-since-delivery',
  'sku-unusable',
  'sku-collides',
  'sku-taken',
  'out-of-gamut',
  'pattern-off-colour',
  'direction-missed',
  'pattern-flattened',
  'map-not-measured',
  'finish-phased-out',
  'rule-broken',
  'colour-estimated',
  'gloss-out-of-reach',
  'gloss-not-read',
  'finish-map-dropped',
  'wear-dropped',
  'normals-not-combined',
  'double-sided-body',
  'map-not-tileable',
  'map-not-power-of-two',
  'map-wrong-content',
  'moire',
  'anisotropy-dropped',
  'thickness-uneven',
  'albedo-implausible',
  'metal-too-dark',
  'surface-implausible',
  'no-schedule',
  'same-choices',
  'name-says-another-finish',
  'view-left-out',
  'variant-without-gtin',
];

describe('readiness', () => {
  it('finds nothing in a good model', () => {
    expect(check(good)).toEqual([]);
  });

  it('has a case here for every code of a model', () => {
    expect([...Object.keys(CASES), ...ELSEWHERE].sort()).toEqual(
      Object.keys(FINDINGS)
        .filter((code) => code in CASES || (ELSEWHERE as readonly string[]).includes(code))
        .sort(),
    );
    const unknown = Object.keys(FINDINGS).filter(
      (code) => !(code in CASES) && !ELSEWHERE.includes(code as FindingCode),
    );
    expect(unknown).toEqual([]);
  });

  const all = Object.entries(CASES).flatMap(([code, cases]) =>
    cases.map((one, index) => [`${code} ${index + 1}`, code as FindingCode, one] as const),
  );
  it.each(all)('%s is found, with place, figures and proposals', (_, code, { survey, given, severity, repairs }) => {
    const found = findAll(check(survey, given), code);
    expect(found.length).toBeGreaterThan(0);
    for (const finding of found) {
      expect(finding.severity).toBe(severity ?? FINDINGS[code]);
      expect(finding.where).toMatch(/^(\/[^/\s]*)+$/);
      expect(finding.place).toBeTruthy();
      expect(finding).toHaveProperty('seen');
      expect(finding).toHaveProperty('expected');
      // A sentence of words and figures, with every placeholder filled in.
      expect(finding.message).not.toMatch(/undefined|null|NaN|\[object|Infinity/);
      expect((finding.repairs ?? []).map(({ repair }) => repair)).toEqual(repairs ?? []);
    }
  });

  it('depends on warnings: a model with notes only is ready', () => {
    expect(judge(check(counts({ animations: 1 })))).toBe('ready');
    expect(judge(check(counts({ draws: 569 })))).toBe('attention');
    expect(judge(check(counts({ triangles: 0 })))).toBe('blocked');
  });
});

describe('the material of a fixed slot', () => {
  const fixed = [makeSlot('seat', { materials: [0], fixed: true }), makeSlot('legs', { materials: [1] })];

  it.each<[FindingCode]>([
    ['colour-map-blocks-recolour'],
    ['alpha-in-colour-map'],
    ['metal-on-nonmetal'],
    ['missing-map'],
    ['uv-scale-unknown'],
    ['missing-uv'],
    ['uneven-density'],
    ['one-material-many-pieces'],
  ])('has no %s', (code) => {
    for (const { survey, given } of CASES[code]!) {
      expect(findAll(check(survey, { ...given, slots: fixed }), code)).toEqual([]);
      expect(findAll(check(survey, given), code)).not.toEqual([]);
    }
  });

  it('still reports images that cannot be read', () => {
    const both = fixed.map((slot) => ({ ...slot, fixed: true }));
    expect(findAll(check(CASES['image-undecodable']![0]!.survey, { slots: both }), 'image-undecodable')).toHaveLength(
      1,
    );
  });
});

describe('a normal map', () => {
  const withNormal = (normal: { unit: number; outward: number }): Survey => ({
    ...good,
    images: [good.images[0]!, makeImage(1, 'normalTexture', { normal })],
  });

  // The lowest of real product maps, compressed to a quality of 30 at worst; the highest of their other maps that point
  // out.
  it('of a product may be compressed; an implausible one is reported once for all its uses', () => {
    expect(findAll(check(withNormal({ unit: 0.79, outward: 1 })), 'implausible-map')).toEqual([]);
    const found = findAll(check(withNormal({ unit: 0.25, outward: 1 })), 'implausible-map');
    expect(found).toHaveLength(1);
    expect(found[0]).toMatchObject({ where: '/images/1', place: expect.stringContaining('“Seat”, and 1 more') });
  });
});
