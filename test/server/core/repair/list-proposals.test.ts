import { describe, expect, it } from 'vitest';
import type { Finding, FindingCode, Severity } from '../../../../server/core/product/finding.ts';
import { listProposals } from '../../../../server/core/repair/list-proposals.ts';
import { readRepairs } from '../../../../server/core/repair/read-repairs.ts';
import type { Repair } from '../../../../server/core/repair/repair.ts';
import { check, makeGoodSurvey, makePieces, withColourMap, withMaterial } from '../../../support/make-model-check.ts';

const finding = (
  repairs: readonly Repair[],
  severity: Severity = 'warning',
  code: FindingCode = 'unit-slip',
): Finding => ({ code, severity, where: '/', message: '.', repairs });
const names = (repairs: readonly Repair[]) => repairs.map(({ repair }) => repair);

const group = { name: 'Legs', pieces: ['0123456789ab'] };
const EVERY: readonly Repair[] = [
  { repair: 'strip-unused' },
  { repair: 'fit-textures', sizePx: 2048 },
  { repair: 'place', mount: 'floor' },
  { repair: 'bake-transforms' },
  { repair: 'neutral-detail', materials: ['Baked'] },
  { repair: 'separate-pieces', material: 'Baked', groups: [group] },
  { repair: 'set-nonmetal', materials: ['Baked'] },
  { repair: 'scale', factor: 0.01, unit: 'cm', seenHeightMm: 82000 },
  { repair: 'rename-materials', names: [{ from: '/materials/3', to: 'Cord' }] },
  { repair: 'unshare-mesh' },
  { repair: 'fix-scene' },
];

describe('the proposals of all findings', () => {
  it('are in an order in which each finds its objects', () => {
    expect(names(listProposals(EVERY.map((repair) => finding([repair]))))).toEqual([
      'fix-scene',
      'unshare-mesh',
      'rename-materials',
      'scale',
      'set-nonmetal',
      'separate-pieces',
      'neutral-detail',
      'bake-transforms',
      'place',
      'fit-textures',
      'strip-unused',
    ]);
  });

  it('bake nothing where parts are merged, since merging also bakes', () => {
    const list = names(listProposals([finding([{ repair: 'bake-transforms' }]), finding([{ repair: 'merge-parts' }])]));
    expect(list).toEqual(['merge-parts']);
  });

  it('contain no box UVs: they are generated where they are needed', () => {
    expect(listProposals([finding([{ repair: 'box-uvs', materials: ['Seat'] }])])).toEqual([]);
  });

  it('contain no scale where several factors fit: a person chooses', () => {
    const scales: Repair[] = [
      { repair: 'scale', factor: 0.01, unit: 'cm' },
      { repair: 'scale', factor: 0.0254, unit: 'inch' },
    ];
    expect(listProposals([finding(scales)])).toEqual([]);
    expect(listProposals([finding(scales.slice(0, 1))])).toEqual(scales.slice(0, 1));
  });

  it('contain nothing for a finding that asks a question, and one separation per material', () => {
    const asks = { ...finding([{ repair: 'fix-scene' }]), asks: true };
    expect(listProposals([asks])).toEqual([]);
    const ways: Repair[] = ['Legs', 'Black'].map((name) => ({
      repair: 'separate-pieces',
      material: 'Baked',
      groups: [{ ...group, name }],
    }));
    expect(listProposals([finding(ways)])).toEqual(ways.slice(0, 1));
  });

  it('join materials and names, and do nothing twice', () => {
    expect(
      listProposals([
        finding([{ repair: 'set-nonmetal', materials: ['A'] }]),
        finding([{ repair: 'set-nonmetal', materials: ['B', 'A'] }]),
        finding([{ repair: 'rename-materials', names: [{ from: '/materials/1', to: 'C' }] }]),
        finding([{ repair: 'rename-materials', names: [{ from: '/materials/2', to: 'D' }] }]),
        finding([{ repair: 'fix-scene' }]),
        finding([{ repair: 'fix-scene' }]),
        finding([{ repair: 'fit-textures', sizePx: 2048 }, { repair: 'strip-unused' }]),
        finding([{ repair: 'fit-textures', sizePx: 1024 }]),
      ]),
    ).toEqual([
      { repair: 'fix-scene' },
      {
        repair: 'rename-materials',
        names: [
          { from: '/materials/1', to: 'C' },
          { from: '/materials/2', to: 'D' },
        ],
      },
      { repair: 'set-nonmetal', materials: ['A', 'B'] },
      { repair: 'fit-textures', sizePx: 1024 },
      { repair: 'strip-unused' },
    ]);
  });

  it('use the current names of materials', () => {
    const list = listProposals([
      finding([{ repair: 'set-nonmetal', materials: ['/materials/3', '/materials/0'] }]),
      finding([{ repair: 'separate-pieces', material: '/materials/3', groups: [group] }]),
      finding([{ repair: 'neutral-detail', materials: ['/materials/3'] }]),
      finding([{ repair: 'rename-materials', names: [{ from: '/materials/3', to: 'Cord' }] }], 'note'),
    ]);
    expect(list).toMatchObject([
      { repair: 'rename-materials' },
      { repair: 'set-nonmetal', materials: ['Cord', '/materials/0'] },
      { repair: 'separate-pieces', material: 'Cord' },
      // and those of separated pieces
      { repair: 'neutral-detail', materials: ['Cord', 'Legs'] },
    ]);
  });

  it('mean all materials where one of them does', () => {
    const list = listProposals([
      finding([{ repair: 'set-nonmetal', materials: ['A'] }]),
      finding([{ repair: 'set-nonmetal' }]),
    ]);
    expect(list).toEqual([{ repair: 'set-nonmetal' }]);
  });

  it('include repairs for notes only if they lose nothing and change nothing visible', () => {
    expect(names(listProposals(EVERY.map((repair) => finding([repair], 'note'))))).toEqual([
      'rename-materials',
      'strip-unused',
    ]);
  });

  it('are empty for a good model, and are always valid', () => {
    expect(listProposals(check(makeGoodSurvey()))).toEqual([]);
    const all = listProposals(EVERY.map((repair) => finding([repair])));
    expect(readRepairs(JSON.parse(JSON.stringify(all)))).toEqual(all);
  });
});

describe('a chair of 569 loose parts in centimetres, with one baked material', () => {
  const good = makeGoodSurvey();
  const baked = withMaterial(withColourMap(good, {}), {
    name: '',
    nodes: ['Chair.001'],
    pieces: 569,
    factors: { baseColor: [1, 1, 1, 1], metallic: 1, roughness: 1 },
    maps: [{ use: 'pbrMetallicRoughness.baseColorTexture', texture: 2, image: 2, texCoord: 0 }],
  });
  const chair = {
    ...baked,
    materials: baked.materials.slice(0, 1),
    primitives: baked.primitives.map((primitive) => ({ ...primitive, material: 0 })),
    size: { widthMm: 50_000, depthMm: 55_000, heightMm: 82_000 },
    box: { min: [-25, 3, -27.5], max: [25, 85, 27.5] },
    counts: { ...baked.counts, draws: 569, pieces: 569 },
    transforms: { ...baked.transforms, unbaked: { count: 569, first: [] } },
    unused: { ...baked.unused, nodes: 12 },
  };
  const findings = check(chair, { pieces: makePieces(0, 568) });

  it('gets the repairs it needs in one chain', () => {
    expect(names(listProposals(findings))).toEqual([
      'rename-materials',
      'scale',
      'set-nonmetal',
      'separate-pieces',
      'merge-parts',
      'place',
      'strip-unused',
    ]);
    expect(listProposals(findings)).toMatchObject([
      { names: [{ from: '/materials/0', to: 'Chair' }] },
      { factor: 0.01, unit: 'cm', seenHeightMm: 82_000 },
      { materials: ['Chair'] },
      { material: 'Chair' },
      {},
      { mount: 'floor' },
      {},
    ]);
  });

  it('has a remedy for every warning', () => {
    for (const { severity, repairs } of findings)
      if (severity === 'warning') expect(repairs?.length).toBeGreaterThan(0);
  });
});
