import { describe, expect, it } from 'vitest';
import { readRepairs } from '../../../../server/core/repair/read-repairs.ts';
import { REPAIRS, type Repair } from '../../../../server/core/repair/repair.ts';
import { expectRefusal } from '../../../support/refusal.ts';

const PIECE = '0123456789ab';

const GOOD: readonly Repair[] = [
  { repair: 'scale', factor: 0.0254, unit: 'inch', seenHeightMm: 32000 },
  { repair: 'scale', toHeightMm: 820, accept: true },
  { repair: 'place' },
  { repair: 'place', mount: 'wall', centred: false },
  { repair: 'bake-transforms', accept: false },
  { repair: 'merge-parts' },
  {
    repair: 'separate-pieces',
    material: '/materials/0',
    groups: [
      { name: 'Füße', pieces: [PIECE], shapes: ['abcdefabcdef'], hex: '#A0b0C0' },
      { name: 'Seat', pieces: ['ffffffffffff'] },
    ],
  },
  { repair: 'set-nonmetal' },
  { repair: 'set-nonmetal', materials: ['Oak', '/materials/2'] },
  { repair: 'neutral-detail', materials: [' odd name '] },
  { repair: 'fit-textures', sizePx: 1024, format: 'webp', quality: 85, lossyNormals: true },
  { repair: 'strip-unused' },
  { repair: 'rename-materials', names: [{ from: '/materials/1', to: 'Legs' }] },
  { repair: 'fix-scene' },
  { repair: 'unshare-mesh', meshes: ['Leg'] },
  { repair: 'box-uvs' },
  { repair: 'box-uvs', materials: ['Seat', '/materials/4'], metresPerUnit: 0.25 },
  { repair: 'turn-outward' },
  { repair: 'turn-outward', materials: ['Seat'] },
  { repair: 'turn-outward', pieces: [PIECE], shapes: ['abcdefabcdef'] },
  { repair: 'turn', axis: 'y', degrees: -90 },
  { repair: 'turn', axis: 'x', degrees: 12.5 },
];

describe('a list of repairs', () => {
  it('is read unchanged, with every kind of repair', () => {
    expect(readRepairs(JSON.parse(JSON.stringify(GOOD)))).toEqual(GOOD);
    expect(new Set(GOOD.map(({ repair }) => repair))).toEqual(new Set(Object.keys(REPAIRS)));
    expect(readRepairs([])).toEqual([]);
  });

  // names by the contract: Unicode NFC, no white space around them
  it('has names in their stored form', () => {
    const [repair] = readRepairs([{ repair: 'rename-materials', names: [{ from: 'x', to: ' Fu\u0308ße ' }] }]);
    expect(repair).toEqual({ repair: 'rename-materials', names: [{ from: 'x', to: 'Füße' }] });
  });

  const groups = (...list: object[]) => [{ repair: 'separate-pieces', material: 'A', groups: list }];
  const rename = (...list: object[]) => [{ repair: 'rename-materials', names: list }];

  it.each<[string, unknown]>([
    ['/', null],
    ['/', { repair: 'place' }],
    ['/', Array.from({ length: 501 }, () => ({ repair: 'place' }))],
    ['/0', [null]],
    ['/0', ['place']],
    ['/0', [[]]],
    ['/0', [{ repair: 'turn-outward', pieces: [PIECE], materials: ['Seat'] }]],
    ['/0/pieces', [{ repair: 'turn-outward', pieces: [] }]],
    ['/0/pieces/0', [{ repair: 'turn-outward', pieces: ['seat'] }]],
    ['/0/axis', [{ repair: 'turn', degrees: 90 }]],
    ['/0/axis', [{ repair: 'turn', axis: 'up', degrees: 90 }]],
    ['/0/degrees', [{ repair: 'turn', axis: 'y' }]],
    ['/0/degrees', [{ repair: 'turn', axis: 'y', degrees: '90' }]],
    ['/0/degrees', [{ repair: 'turn', axis: 'y', degrees: 361 }]],
    ['/0/repair', [{}]],
    ['/0/repair', [{ repair: 'decimate' }]],
    ['/0/repair', [{ repair: 'constructor' }]],
    ['/0/repair', [{ repair: 7 }]],
    ['/1/speed', [{ repair: 'place' }, { repair: 'place', speed: 1 }]],
    ['/0/a~1b', [{ repair: 'place', 'a/b': 1 }]],
    ['/0/materials', [{ repair: 'merge-parts', materials: ['A'] }]],
    ['/0/accept', [{ repair: 'merge-parts', accept: 'yes' }]],
    ['/0', [{ repair: 'scale' }]],
    ['/0', [{ repair: 'scale', factor: 2, toHeightMm: 3 }]],
    ['/0/factor', [{ repair: 'scale', factor: 0 }]],
    ['/0/factor', [{ repair: 'scale', factor: -1 }]],
    ['/0/factor', [{ repair: 'scale', factor: '0.01' }]],
    ['/0/factor', [{ repair: 'scale', factor: Number.NaN }]],
    ['/0/factor', [{ repair: 'scale', factor: Number.POSITIVE_INFINITY }]],
    ['/0/factor', [{ repair: 'scale', factor: 1e7 }]],
    ['/0/factor', [{ repair: 'scale', factor: null }]],
    ['/0/toHeightMm', [{ repair: 'scale', toHeightMm: 0 }]],
    ['/0/seenHeightMm', [{ repair: 'scale', factor: 1, seenHeightMm: -5 }]],
    ['/0/unit', [{ repair: 'scale', factor: 1, unit: '' }]],
    ['/0/mount', [{ repair: 'place', mount: 'roof' }]],
    ['/0/centred', [{ repair: 'place', centred: 1 }]],
    ['/0/material', [{ repair: 'separate-pieces', groups: [{ name: 'A', pieces: [PIECE] }] }]],
    ['/0/groups', [{ repair: 'separate-pieces', material: 'A' }]],
    ['/0/groups', groups()],
    ['/0/groups', groups(...Array.from({ length: 101 }, (_, n) => ({ name: `G${n}`, pieces: [PIECE] })))],
    ['/0/groups/0', [{ repair: 'separate-pieces', material: 'A', groups: ['Legs'] }]],
    ['/0/groups/0/name', groups({ name: '', pieces: [PIECE] })],
    ['/0/groups/0/name', groups({ name: 'x'.repeat(121), pieces: [PIECE] })],
    ['/0/groups/0/name', groups({ name: 'a\u0000b', pieces: [PIECE] })],
    ['/0/groups/0/name', groups({ name: '/materials/3', pieces: [PIECE] })],
    ['/0/groups/0/pieces', groups({ name: 'A', pieces: [] })],
    ['/0/groups/0/pieces/0', groups({ name: 'A', pieces: ['ABCDEF012345'] })],
    ['/0/groups/0/pieces/1', groups({ name: 'A', pieces: [PIECE, 7] })],
    ['/0/groups/1/pieces', groups({ name: 'A', pieces: [PIECE] }, { name: 'B', pieces: [PIECE] })],
    ['/0/groups', groups({ name: 'A', pieces: [PIECE] }, { name: 'A', pieces: ['ffffffffffff'] })],
    ['/0/groups/0/shapes/0', groups({ name: 'A', pieces: [PIECE], shapes: ['x'] })],
    ['/0/groups/0/hex', groups({ name: 'A', pieces: [PIECE], hex: 'red' })],
    ['/0/groups/0/colour', groups({ name: 'A', pieces: [PIECE], colour: 'red' })],
    ['/0/materials', [{ repair: 'set-nonmetal', materials: 'Oak' }]],
    ['/0/materials', [{ repair: 'set-nonmetal', materials: [] }]],
    ['/0/materials/0', [{ repair: 'set-nonmetal', materials: [''] }]],
    ['/0/materials/1', [{ repair: 'neutral-detail', materials: ['A', 3] }]],
    ['/0/materials/0', [{ repair: 'neutral-detail', materials: ['x'.repeat(201)] }]],
    ['/0/meshes/0', [{ repair: 'unshare-mesh', meshes: [{}] }]],
    ['/0/materials', [{ repair: 'box-uvs', materials: [] }]],
    ['/0/metresPerUnit', [{ repair: 'box-uvs', metresPerUnit: 0 }]],
    ['/0/metresPerUnit', [{ repair: 'box-uvs', metresPerUnit: 1001 }]],
    ['/0/sizePx', [{ repair: 'fit-textures', sizePx: 15 }]],
    ['/0/sizePx', [{ repair: 'fit-textures', sizePx: 1024.5 }]],
    ['/0/format', [{ repair: 'fit-textures', format: 'gif' }]],
    ['/0/quality', [{ repair: 'fit-textures', quality: 0 }]],
    ['/0/lossyNormals', [{ repair: 'fit-textures', lossyNormals: 'no' }]],
    ['/0/names', rename()],
    ['/0/names/0/from', rename({ to: 'B' })],
    ['/0/names/0/to', rename({ from: 'A', to: '   ' })],
    ['/0/names/0/why', rename({ from: 'A', to: 'B', why: '' })],
    ['/0/names', rename({ from: 'A', to: 'B' }, { from: 'A', to: 'C' })],
  ])('is refused at %s: %j', async (where, value) => {
    const problem = await expectRefusal(() => readRepairs(value), 'invalid-repair');
    expect(problem.more.where).toBe(where);
    expect(problem.more.expected).toBeDefined();
    expect(problem.more.received).toBeDefined();
    expect(problem.message).toMatch(/\.$/);
  });

  it('gives the place in the request', async () => {
    const problem = await expectRefusal(() => readRepairs([{}], '/steps'), 'invalid-repair');
    expect(problem.more.where).toBe('/steps/0/repair');
  });

  it('is not confused by fields that every object has', async () => {
    const value = JSON.parse('[{"repair": "place", "__proto__": {"mount": "wall"}}]');
    await expectRefusal(() => readRepairs(value), 'invalid-repair');
  });
});
