import { describe, expect, it } from 'vitest';
import { FINDINGS } from '../../../../server/core/product/finding.ts';
import {
  describeFinding,
  describeMorePlaces,
  FINDING_TEXTS,
  type FiguresOf,
  type FindingText,
  GROUPED_FINDINGS,
} from '../../../../server/core/texts/finding-texts.ts';
import { PLACES } from '../../../../server/core/texts/format-text.ts';
import { listRetiredWords } from '../../../support/retired-words.ts';

// Every message of a finding, with figures for one thing and for several, is in plain English and shows no internals.

const size = (widthMm: number) => ({ widthMm, depthMm: 480, heightMm: 1820 });
const over = { budget: 'Web catalogue', limit: 3_000_000, isMaximum: false };
const piece = { metresPerUv: 0.5, pieces: 1, share: 0.33, nodes: ['Cushion'] };
const damaged = {
  values: 1,
  what: 'occlusion texture, strength',
  place: 'material “Oak”',
  seen: '7',
  expected: 'a number from 0 to 1',
  used: '1',
  isVisible: true,
};
const use = { finish: 'OAK-1', slot: 'Seat', variants: ['A'] };
const metal = { label: '“Seat”', metalness: 1, isSure: true, looksMetallic: false } as const;
const normals = { slot: 'Seat', finishes: 1, keeps: 'part' } as const;
const on = { slot: 'Seat', finishes: 1 };
const one = { finish: 'OAK-1' };
const NONE = [{}];

const SAMPLES: { readonly [T in FindingText]: readonly FiguresOf<T>[] } = {
  'unit-slip': [
    { size: size(46), readings: [{ unit: 'cm', size: size(460), factor: 10 }], fits: 'the data sheet' },
    {
      size: size(46),
      readings: ['inch', 'metres taken for foot'].map((unit) => ({ unit, size: size(460), factor: 39.37 })),
      fits: 'the data sheet',
    },
  ],
  'size-off-sheet': [
    { measured: size(460), sheet: size(500), isExact: true, scaled: { factor: 1.1, size: size(500) }, off: [] },
    { measured: size(460), sheet: size(500), isExact: false, scaled: null, off: [{ side: 'width', mm: -40 }] },
  ],
  'size-implausible': [{ size: size(460), usual: 'a mug (60–160 × 60–120 × 60–140 mm)' }],
  'size-implausible:any': [{ size: size(460) }],
  'off-mount': (['floor', 'table', 'ceiling', 'wall'] as const).map((mount) => ({
    mount,
    contactM: 0.012,
    centre: mount === 'floor' ? null : { metres: 0.2, share: 0.3, axis: 'x' },
  })),
  'nothing-to-draw': NONE,
  'nothing-to-draw:unreadable': [{ reason: 'This model cannot be read.' }],
  'scene-lists-child': NONE,
  'unbaked-transform': [
    { parts: 1, negative: 0, uneven: 0, isAnimated: false },
    { parts: 4, negative: 1, uneven: 2, isAnimated: true },
  ],
  'many-pieces': [{ draws: 120, materials: 1 }],
  'one-material-many-pieces': [
    { label: '“Sofa”', share: 0.95, pieces: 9, groups: null, ways: 0, isOneMaterial: false },
    ...(['names', 'meshes', 'shapes', 'colours', 'sizes'] as const).map((by) => ({
      label: '“Sofa”',
      share: 0.95,
      pieces: 9,
      groups: { by, names: ['Leg', 'Seat'], left: 2 },
      ways: by === 'names' ? 1 : 2,
      isOneMaterial: by === 'meshes',
    })),
  ],
  'shared-mesh': [{ meshes: 1 }, { meshes: 2 }],
  'hidden-content': [{ parts: 1 }, { parts: 2 }],
  'broken-geometry': (
    [
      'positions-not-finite',
      'index-out-of-range',
      'zero-area',
      'empty-primitive',
      'points-or-lines',
      'not-readable',
    ] as const
  ).flatMap((fault) => [
    { fault, count: 1 },
    { fault, count: 2 },
  ]),
  'geometry-undecodable': NONE,
  'missing-normals': [{ primitives: 1 }, { primitives: 2 }],
  'faces-inward': [
    { pieces: 1, byVolume: 1, byView: 0, byNormals: 0 },
    { pieces: 3, byVolume: 1, byView: 1, byNormals: 1 },
  ],
  'faces-inward:doubtful': [{ pieces: 1 }, { pieces: 2 }],
  'unnamed-material': [{ proposal: 'Leg' }],
  'duplicate-material-name': [
    { materials: 2, label: '“Oak”', names: ['Oak leg'] },
    { materials: 3, label: '“Oak”', names: ['Oak leg', 'Oak seat'] },
  ],
  'metal-on-nonmetal': [
    { ...metal, reason: 'name' },
    { ...metal, reason: 'part-names', isSure: false, looksMetallic: true },
    { ...metal, reason: 'defaults' },
    { ...metal, reason: 'matt', isSure: false },
  ],
  'animated-material': [{ label: '“Seat”' }],
  'vertex-colours-tint': [{ primitives: 1 }, { primitives: 2 }],
  'colour-map-blocks-recolour': [
    { label: '“Seat”', content: null },
    { label: '“Seat”', content: { hex: '#aabbcc', deltaE: 5, isPatterned: true } },
    { label: 'unnamed material 3', content: { hex: '#aabbcc', deltaE: 1, isPatterned: false } },
  ],
  'alpha-in-colour-map': [{ label: '“Seat”' }],
  'alpha-in-colour-map:whole': NONE,
  'implausible-map': [{ unit: 0.3, outward: 0.2 }],
  'implausible-map:metalness': [{ label: '“Seat”', mean: 0.5 }],
  'missing-map': [
    { roughness: ['Seat'], normal: [] },
    { roughness: ['Seat'], normal: ['Seat', 'Leg'] },
  ],
  'constant-map': [{ hex: '#aabbcc' }],
  'image-undecodable': [{ reason: 'it is a KTX2 image' }],
  'image-undecodable:damaged': [{ reason: 'it ends too early' }],
  'image-misplaced': [{ isKtx2: true }, { isKtx2: false }],
  'texture-quality': [{ quality: 60 }],
  'texture-too-large': [true, false].map((canResize) => ({
    widthPx: 4096,
    heightPx: 4096,
    budget: 'Web catalogue',
    limitPx: 2048,
    canResize,
  })),
  'missing-uv': [
    { label: '“Seat”', bare: 1, all: 1, texCoord: 0 },
    { label: '“Seat”', bare: 1, all: 3, texCoord: 1 },
    { label: '“Seat”', bare: 2, all: 3, texCoord: 1 },
  ],
  'uv-scale-unknown': [{ label: '“Seat”' }],
  'uneven-density': [
    { label: '“Seat”', low: 0.8, high: 1.2, off: 0.6, tolerance: 0.1, finest: null, coarsest: null, ownMaps: 1 },
    {
      label: '“Seat”',
      low: 0.5,
      high: 1.5,
      off: 0.99,
      tolerance: 0.1,
      finest: piece,
      coarsest: { ...piece, nodes: [] },
      ownMaps: 2,
    },
  ],
  'uv-overlap': [{ label: '“Seat”', share: 0.3 }],
  'uv-stretch': [{ label: '“Seat”', stretch: 2.1 }],
  'file-too-heavy': [
    { ...over, bytes: 9e6, causes: [{ cause: 'images', bytes: 8e6 }], sizePx: 1024, imagesWeigh: true },
    { ...over, bytes: 9e6, causes: [{ cause: 'images', bytes: 8e6 }], sizePx: null, imagesWeigh: true },
    { ...over, bytes: 9e6, causes: [{ cause: 'geometry', bytes: 8e6 }], sizePx: null, imagesWeigh: false },
  ],
  'too-many-triangles': [{ ...over, triangles: 900_000, isMaximum: true }],
  'too-many-draws': [
    { ...over, draws: 900, materials: 1, canMerge: true },
    { ...over, draws: 900, materials: 900, canMerge: false },
  ],
  validator: [
    { errors: 1, isAtLeast: false, first: 'Value is out of range.', isScene: false },
    { errors: 3, isAtLeast: true, first: null, isScene: true },
  ],
  'preparation-step-unfit': [{ step: 2, message: 'The material “Oak” was not found.' }],
  'loose-files': NONE,
  'unknown-extension': [
    { names: ['ACME_a'], required: [] },
    { names: ['ACME_a', 'ACME_b'], required: ['ACME_b'] },
  ],
  'carries-variants': [{ variants: 1 }, { variants: 2 }],
  'carries-animation': [{ animations: 1 }, { animations: 2 }],
  'unused-content': [{ kinds: ['1 node', '2 meshes'], bytes: 12_000, all: 9e6 }],
  'dead-bytes': [{ bytes: 12_000, all: 9e6 }],
  'dead-bytes:kept': [{ bytes: 12_000 }],
  'damaged-value': [damaged, { ...damaged, values: 12, used: null, isVisible: false }],
  'dangling-reference': [
    { ...damaged, used: null },
    { ...damaged, values: 12 },
  ],
  'damaged-animation': [
    { parts: 1, animations: 'animation “Turn”' },
    { parts: 2, animations: '2 animations' },
  ],
  'no-scene': [{ shown: 'the first scene' }],
  'undeclared-extension': [{ names: ['KHR_materials_ior'] }],
  'no-schedule': NONE,
  'slot-without-finish': [
    { slot: 'Seat', variants: ['A'] },
    { slot: 'Seat', variants: ['A', 'B', 'C', 'D', 'E', 'F'] },
  ],
  'finish-not-in-options': [use, { ...use, variants: ['A', 'B'] }],
  'finish-discontinued': [use, { ...use, variants: ['A', 'B'], replacedBy: 'OAK-2' }],
  'finish-phased-out': [
    { ...use, lastOrder: '2031-06-30' },
    { ...use, variants: ['A', 'B'], replacedBy: 'OAK-2', lastOrder: '2031-06-30' },
  ],
  'rule-broken': [['A'], ['A', 'B']].map((variants) => ({
    from: 'OAK-1',
    fromSlot: 'Seat',
    to: 'FELT-1',
    toSlot: 'Cord',
    variants,
    rule: '“Seat” in OAK-1 never goes with “Cord” in FELT-1',
  })),
  'rule-broken:more': [1, 3].map((pairs) => ({ pairs, variants: ['A'], rule: '“Seat” never goes with “Cord”' })),
  'slot-not-in-model': [{ slot: 'Seat', material: 'Oak' }],
  'slot-is-fixed': [{ slot: 'Seat' }],
  'name-contains-name': [
    { pairs: 1, long: 'Oak dark', short: 'Oak' },
    { pairs: 4, long: 'Oak dark', short: 'Oak' },
  ],
  'same-choices': [
    { names: ['A', 'B'], others: 0 },
    { names: ['A', 'B', 'C', 'D'], others: 1 },
    { names: ['A', 'B'], others: 2 },
  ],
  'name-says-another-finish': [
    { variants: 1, variant: 'A', name: 'Oak', says: 'Oak (OAK-1)' },
    { variants: 2, variant: 'A', name: 'Oak', says: 'Oak (OAK-1)' },
  ],
  'sku-unusable:field': [{ field: 'seat' }],
  'sku-unusable:empty': [{ variant: 'A', sku: '' }],
  'sku-unusable:start': [{ variant: 'A', sku: '-OAK' }],
  'sku-unusable:long': [{ variant: 'A', sku: 'X'.repeat(70) }],
  'sku-unusable:name': [{ variant: 'A', sku: 'CON' }],
  'sku-collides': [{ sku: 'CH-OAK', first: 'A', second: 'B' }],
  'sku-taken': [{ sku: 'CH-OAK', variant: 'A' }],
  'sku-taken:meanwhile': [{}],
  'renamed-since-delivery': [
    { variants: 1, delivery: 3, was: 'Oak', is: 'Oak, smoked' },
    { variants: 2, delivery: 3, was: 'Oak', is: 'Oak, smoked' },
  ],
  'view-left-out': [
    { product: 'CH-1', slot: 'legs', views: [] },
    { product: 'CH-1', slot: 'legs', views: ['seat', 'back'] },
  ],
  'variant-without-gtin': [
    { variants: ['A'], more: 0 },
    { variants: ['A', 'B'], more: 3 },
  ],
  'out-of-gamut': [{ ...one, hex: '#aabbcc', deltaE: 3 }],
  'colour-estimated': [{ ...one, typicalDeltaE: 0.4, worstDeltaE: 1.1 }],
  'map-not-measured': [one],
  'pattern-off-colour': [{ ...one, hex: '#aabbcc', deltaE: 3 }],
  'pattern-off-colour:map': [{ ...one, hex: '#aabbcc', deltaE: 3 }],
  'pattern-flattened': [
    { ...one, contrast: 0.5, clipped: 0 },
    { ...one, contrast: 0.5, clipped: 0.1 },
  ],
  'pattern-flattened:detail': [{ ...one, slot: 'Seat', contrast: 0.5 }],
  'gloss-out-of-reach': [{ ...one, reason: '95 GU at 60° is more than this surface can reflect.' }],
  'gloss-not-read': [{ ...one, reason: 'The reading is negative.' }],
  'albedo-implausible': [10, 250].map((code) => ({ ...one, code, strict: [50, 240], tolerant: [30, 243] })),
  'metal-too-dark': [{ ...one, reflectance: 0.2, atLeast: 0.4 }],
  'surface-implausible:metal-colour': [1, null].map((secondDeltaE) => ({
    ...one,
    metal: 'copper',
    source: 'Johnson and Christy 1972',
    deltaE: 4,
    secondDeltaE,
  })),
  'surface-implausible:transparent-metal': [one],
  'surface-implausible:metal-specular': [one],
  'surface-implausible:metal-sheen': [one],
  'surface-implausible:coated-cloth': [one],
  'surface-implausible:no-roughness': [one],
  'surface-implausible:opaque-volume': [one],
  'surface-implausible:tinted-twice': [{ ...one, tint: 0.5, through: 0.6 }],
  'surface-implausible:glass-index': [{ ...one, ior: 1.1, least: 1.45, most: 1.95 }],
  'surface-implausible:film': [{ ...one, leastNm: 500, mostNm: 300 }],
  'surface-implausible:emission': [{ ...one, family: 'wood' }],
  'image-undecodable:finish-map': [{ ...one, use: 'colour' }],
  'image-undecodable:not-measured': NONE,
  'map-wrong-content:grey-normal': NONE,
  'map-wrong-content:not-normal': NONE,
  'map-wrong-content:is-normal': [{ use: 'colour' }],
  'map-wrong-content:no-roughness': NONE,
  'map-wrong-content:transparent': NONE,
  'texture-too-large:finish-map': [{ widthPx: 8192, heightPx: 8192, limitPx: 4096 }],
  'map-not-power-of-two': [{ widthPx: 1000, heightPx: 1000 }],
  'map-not-tileable': [
    { edge: 'left and right', codes: 40, ratio: 10, isSure: true },
    { edge: 'top and bottom', codes: 40, ratio: null, isSure: false },
  ],
  'constant-map:finish-map': NONE,
  'map-profile': [
    { profile: 'Adobe RGB (1998)', outside: null },
    { profile: null, outside: 0.1 },
  ],
  'map-profile:ignored': [
    { profile: 'Adobe RGB (1998)', use: 'normal' },
    { profile: null, use: 'roughness' },
  ],
  'map-profile:unusable': [{ profile: null }],
  'map-depth': NONE,
  moire: [{ ...one, threadMm: 0.5, threadPx: 1.2, leastPx: 3, times: 2.5 }],
  'out-of-reach:detail': [{ ...one, wanted: '#aabbcc', slot: 'Seat', hex: '#99aabb', deltaE: 3 }],
  'out-of-reach:wear': [{ ...one, roughness: 0.9, slot: 'Seat', mean: 0.6, factor: 1.5 }],
  'out-of-reach:supplied': [one],
  'wear-dropped': [{ ...one, slot: 'Seat' }],
  'normals-not-combined': [
    { ...normals, reason: { why: 'too-fine', neededPx: 8192, limitPx: 2048 } },
    { ...normals, keeps: 'finish', finishes: 2, reason: { why: 'beyond-square', bounds: null } },
    { ...normals, reason: { why: 'beyond-square', bounds: { min: [0, 0], max: [3, 2.5] } } },
    { ...normals, reason: { why: 'other-uv-set', texCoord: 1 } },
    { ...normals, reason: { why: 'unreadable', map: 'part' } },
    { ...normals, reason: { why: 'tangents-differ' } },
  ],
  'missing-uv:finish-maps': [on, { ...on, finishes: 2 }],
  'missing-uv:supplied': [
    { slot: 'Seat', finishes: ['OAK-1'] },
    { slot: 'Seat', finishes: ['OAK-1', 'OAK-2'] },
  ],
  'missing-uv:own-maps': [
    { slot: 'Seat', maps: ['normal'] },
    { slot: 'Seat', maps: ['normal', 'occlusion'] },
  ],
  'finish-map-dropped': [on, { ...on, finishes: 2 }],
  'direction-missed': [{ ...on, degrees: 12 }],
  'anisotropy-dropped': [on, { ...on, finishes: 2 }],
  'double-sided-body': [on, { ...on, finishes: 2 }],
  'thickness-uneven': [{ ...on, meshes: 1, lowM: 0.004, highM: 0.008 }],
};

const all = (Object.keys(FINDING_TEXTS) as FindingText[]).flatMap((text) =>
  SAMPLES[text].map((figures) => [text, describeFinding(text, figures as never)] as const),
);
const grouped = Object.entries(GROUPED_FINDINGS).map(([code, describePlaces]) => [code, describePlaces(3)] as const);
const more = [1, 2].map((n) => ['more places', describeMorePlaces(n)] as const);
const places = [
  PLACES.mount('wall'),
  PLACES.material({ name: '', index: 2, nodes: ['Leg'] }),
  PLACES.image({ name: '', index: 1 }, { map: 'normalTexture', material: { name: 'Oak', index: 0 } }, 2),
  PLACES.several(['A', 'B', 'C', 'D'], 3),
].map((place) => ['place', place] as const);

/** JSON pointers, calls, digests, values of programs, wrong plurals and double punctuation. */
const FAULTS = [
  /(?:^|[\s“(])\/[a-z]+\/\d/i,
  /\/api\//,
  /\b[0-9a-f]{12,}\b/,
  /undefined|\bnull\b|NaN|\[object|Infinity/,
  /(?<![\w.–×-] ?)\b1 (?:parts|pieces|materials|meshes|finishes|images|maps|primitives|variants|nodes)\b/,
  /(?<![\w.–×-] ?)\b2 (?:part|piece|material|mesh|finish|image|map|primitive|variant|node)\b/,
  / {2}|\.\.|,,| [,;:]| \.(?!\w)/,
];

describe('messages of findings', () => {
  it.each([...all, ...grouped, ...more])('%s: “%s” is a plain sentence', (_, message) => {
    expect(message).toMatch(/^[\p{Lu}\d“].*[.!?]$/su);
    expect(listRetiredWords(message)).toEqual([]);
    expect(FAULTS.filter((fault) => fault.test(message))).toEqual([]);
  });

  it.each(places)('a %s, such as “%s”, is also plain', (_, place) => {
    expect(listRetiredWords(place)).toEqual([]);
    expect(FAULTS.filter((fault) => fault.test(place))).toEqual([]);
  });

  it('belong to codes of findings, and every code has one', () => {
    const codes = new Set(Object.keys(FINDING_TEXTS).map((text) => text.split(':')[0]));
    expect([...codes].sort()).toEqual(Object.keys(FINDINGS).sort());
    for (const code of Object.keys(GROUPED_FINDINGS)) expect(codes).toContain(code);
  });
});
