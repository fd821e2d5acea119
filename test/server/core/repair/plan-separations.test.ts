import { describe, expect, it } from 'vitest';
import type { Piece } from '../../../../server/core/product/survey.ts';
import { planSeparations, type SeparatedBy, type Separation } from '../../../../server/core/repair/plan-separations.ts';
import { createRandom } from '../../../support/random.ts';

// Names in the supplier's file take precedence over guesses. Colours within ΔE*ab 12 (CIE 1976, CIE 15) are one
// material; names are common practice.

let count = 0;
function makePiece(given: Partial<Piece>): Piece {
  const id = (count++).toString(16).padStart(12, '0');
  return {
    piece: id,
    shape: `s${id}`,
    material: 0,
    triangles: 12,
    areaM2: 0.01,
    box: { min: [0, 0, 0], max: [0.1, 0.1, 0.1] },
    primitives: [],
    nodes: [],
    part: given.nodes?.[0] ?? null,
    hex: null,
    ...given,
  };
}

/** A colour some codes away from another. */
function shade(hex: string, codes: number): string {
  const channels = [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16) + codes);
  return `#${channels.map((code) => Math.max(0, Math.min(255, code)).toString(16).padStart(2, '0')).join('')}`;
}

const OAK = '#c4a070';
const BLUE = '#2f527a';
const BLACK = '#1c1c1e';

function makeChair(): Piece[] {
  const random = createRandom(5);
  const some = (times: number, areaM2: number, hex: string, name: (i: number) => string, shape?: string) =>
    Array.from({ length: times }, (_, i) =>
      makePiece({ areaM2, hex: shade(hex, random.whole(9) - 4), nodes: [name(i)], ...(shape ? { shape } : {}) }),
    );
  return [
    ...some(4, 0.05, OAK, (i) => ['leg_front_left', 'leg_front_right', 'leg_back_left', 'leg_back_right'][i]!),
    ...some(24, 0.015, OAK, (i) => `slat_${i}`, 'slat'),
    ...some(1, 0.3, BLUE, () => 'seat'),
    ...some(12, 0.002, BLUE, (i) => `button_${i}`, 'button'),
    ...some(100, 0.0002, BLACK, (i) => `screw_${100 + i}`, 'screw'),
    ...some(60, 0.0002, BLACK, (i) => `staple_${i}`, 'staple'),
  ];
}

/** The same chair as one mesh without names. */
const makeNameless = () => makeChair().map((piece) => ({ ...piece, nodes: [], part: null }));

const sketch = (separations: readonly Separation[]) =>
  separations.map(({ by, groups }) => [by, groups.map(({ name, pieces }) => `${name} ${pieces.length}`)]);

const groupsOf = (pieces: readonly Piece[], way: SeparatedBy, taken: readonly string[] = []) =>
  planSeparations(pieces, 0, taken).find(({ by }) => by === way)!.groups;

describe('separations of pieces', () => {
  it('use the model’s own parts first, then colour', () => {
    expect(sketch(planSeparations(makeChair(), 0))).toEqual([
      ['names', ['Slat 24', 'Seat 1', 'Leg 4', 'Button 12', 'Screw 100', 'Staple 60']],
      ['colours', ['Light brown 28', 'Blue 13', 'Black 160']],
    ]);
  });

  it('use shape before colour where most of the surface has copies', () => {
    const slats = makeNameless().filter(({ shape }) => ['slat', 'button', 'screw'].includes(shape));
    expect(sketch(planSeparations(slats, 0))).toEqual([
      ['shapes', ['Part 1 24', 'Part 2 12', 'Part 3 100']],
      ['colours', ['Light brown 24', 'Blue 12', 'Black 100']],
    ]);
  });

  it('name kinds of part in readable words, and leave out pieces without a name', () => {
    const names = ['Strap_Left', 'Zipper.002_9', 'Zipper_001_10', 'other straps_4', 'R_thumbStick', 'Bottom Cover_1'];
    const pieces = [...names, null].map((part, i) => makePiece({ part, areaM2: 1 - i / 10 }));
    const [first] = planSeparations(pieces, 0);
    expect(first!.by).toBe('names');
    expect(first!.groups.map(({ name }) => name)).toEqual([
      'Zipper',
      'Strap left',
      'Other straps',
      'Thumb stick right',
      'Bottom cover',
    ]);
    expect(first!.groups.map(({ parts }) => parts)).toContainEqual(['Zipper.002_9', 'Zipper_001_10']);
    expect(first!.groups.flatMap(({ pieces }) => pieces)).not.toContain(pieces.at(-1)!.piece);
  });

  it('drop a prefix that all names share, and ignore names without meaning', () => {
    const named = (names: readonly string[]) => names.map((part) => makePiece({ part }));
    expect(
      groupsOf(named(['Chair_leg_L', 'Chair_leg_R', 'Chair_seat']), 'names')
        .map(({ name }) => name)
        .sort(),
    ).toEqual(['Leg', 'Seat']);
    const nothing = named(['Cube.001', 'Mesh_3', 'Object_12', 'RootNode']);
    expect(planSeparations(nothing, 0).map(({ by }) => by)).not.toContain('names');
  });

  it('are numbered by size where the file has meshes without names', () => {
    const pieces = [0.1, 0.4, 0.2].map((areaM2, mesh) => makePiece({ areaM2, primitives: [{ mesh, primitive: 0 }] }));
    const [first] = planSeparations(pieces, 0);
    expect(first).toMatchObject({
      by: 'meshes',
      groups: [
        { name: 'Part 1', pieces: [pieces[1]!.piece] },
        { name: 'Part 2', pieces: [pieces[2]!.piece] },
        { name: 'Part 3', pieces: [pieces[0]!.piece] },
      ],
    });
  });

  it('use size where nothing else tells parts apart, and are empty where size does not either', () => {
    const pieces = makeNameless().map((piece) => ({ ...piece, hex: null, shape: piece.piece }));
    expect(planSeparations(pieces, 0)).toEqual([]);
    const large = makePiece({ box: { min: [0, 0, 0], max: [3, 3, 3] } });
    expect(sketch(planSeparations([...pieces, large], 0))).toEqual([['sizes', ['Part 1 201', 'Part 2 1']]]);
    expect(planSeparations([], 0)).toEqual([]);
  });
});

describe('a proposal for a baked atlas', () => {
  const groupsOfColour = (pieces: readonly Piece[]) => groupsOf(pieces, 'colours');

  it('is one group per material, largest first, whatever the order of the pieces', () => {
    const pieces = makeNameless();
    const groups = groupsOfColour(pieces);
    expect(groups[0]!.shapes).toHaveLength(5);
    const again = groupsOfColour([...pieces].reverse());
    expect(again.map((group) => ({ ...group, pieces: [...group.pieces].sort() }))).toMatchObject(
      groups.map(({ name, pieces }) => ({ name, pieces: [...pieces].sort() })),
    );
  });

  it('gives every group’s colour, and no piece differs from it by more than the tolerance of a material', () => {
    for (const { hex } of groupsOfColour(makeNameless())) expect(hex).toMatch(/^#[0-9a-f]{6}$/);
    const [oak] = groupsOfColour(makeNameless());
    for (const at of [1, 3, 5]) {
      const off = Number.parseInt(oak!.hex!.slice(at, at + 2), 16) - Number.parseInt(OAK.slice(at, at + 2), 16);
      expect(Math.abs(off)).toBeLessThanOrEqual(4);
    }
  });

  it('leaves out pieces of other materials, and those without a colour', () => {
    const pieces = [...makeNameless(), makePiece({ material: 1, hex: '#ff0000' }), makePiece({})];
    const listed = new Set(groupsOfColour(pieces).flatMap(({ pieces }) => pieces));
    expect(listed.size).toBe(pieces.length - 2);
  });

  it('joins a stray to the nearest group', () => {
    const label = makePiece({ areaM2: 0.001, hex: '#d8c8a0' });
    const groups = groupsOfColour([...makeNameless(), label]);
    expect(groups).toHaveLength(3);
    expect(groups[0]!.pieces).toContain(label.piece);
  });

  it('has twelve groups at most, with different names that are not in use', () => {
    const pieces = Array.from({ length: 30 }, (_, i) => {
      const channel = (step: number) => Math.floor(i / step) % 3;
      const hex = [channel(1), channel(3), channel(9)]
        .map((code) => (code * 120).toString(16).padStart(2, '0'))
        .join('');
      return makePiece({ hex: `#${hex}`, areaM2: 0.01 + i / 1000 });
    });
    const groups = groupsOfColour(pieces);
    expect(groups).toHaveLength(12);
    expect(new Set(groups.map(({ name }) => name)).size).toBe(12);
    expect(new Set(groups.flatMap(({ pieces }) => pieces)).size).toBe(30);
    const names = groupsOf(makeChair(), 'colours', ['blue']).map(({ name }) => name);
    expect(names).toEqual(['Light brown', 'Blue 2', 'Black']);
  });
});
