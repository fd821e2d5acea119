import { describe, expect, it } from 'vitest';
import type { Piece } from '../../../../server/core/product/survey.ts';
import { planSeparation } from '../../../../server/core/repair/plan-separation.ts';
import { createRandom } from '../../../support/random.ts';

// Colours within ΔE*ab 12 (CIE 1976, CIE 15) are one stuff; names are common practice.

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

describe('a proposal for a baked atlas', () => {
  it('is one group a stuff, largest first, whatever the order of the pieces', () => {
    const pieces = makeChair();
    const groups = planSeparation(pieces, 0);
    expect(groups.map(({ name, pieces }) => [name, pieces.length])).toEqual([
      ['light brown', 28],
      ['seat', 13],
      ['black', 160],
    ]);
    expect(groups[0]!.shapes).toHaveLength(5);
    const again = planSeparation([...pieces].reverse(), 0);
    expect(again.map((group) => ({ ...group, pieces: [...group.pieces].sort() }))).toMatchObject(
      groups.map(({ name, pieces }) => ({ name, pieces: [...pieces].sort() })),
    );
  });

  it('tells every group’s colour, from which no piece of it is further than a stuff is wide', () => {
    for (const { hex } of planSeparation(makeChair(), 0)) expect(hex).toMatch(/^#[0-9a-f]{6}$/);
    const [oak] = planSeparation(makeChair(), 0);
    for (const at of [1, 3, 5]) {
      const off = Number.parseInt(oak!.hex!.slice(at, at + 2), 16) - Number.parseInt(OAK.slice(at, at + 2), 16);
      expect(Math.abs(off)).toBeLessThanOrEqual(4);
    }
  });

  it('leaves pieces of other materials, and those without a colour, out', () => {
    const pieces = [...makeChair(), makePiece({ material: 1, hex: '#ff0000' }), makePiece({})];
    const listed = new Set(planSeparation(pieces, 0).flatMap(({ pieces }) => pieces));
    expect(listed.size).toBe(pieces.length - 2);
  });

  it('is none where all is of one colour', () => {
    expect(planSeparation(makeChair().slice(0, 28), 0)).toEqual([]);
    expect(planSeparation([], 0)).toEqual([]);
  });

  it('lets a stray join what is nearest', () => {
    const label = makePiece({ areaM2: 0.001, hex: '#d8c8a0', nodes: ['label'] });
    const groups = planSeparation([...makeChair(), label], 0);
    expect(groups).toHaveLength(3);
    expect(groups[0]!.pieces).toContain(label.piece);
  });

  it('has twelve groups at most, with names that differ, and none that is taken', () => {
    const pieces = Array.from({ length: 30 }, (_, i) => {
      const channel = (step: number) => Math.floor(i / step) % 3;
      const hex = [channel(1), channel(3), channel(9)]
        .map((code) => (code * 120).toString(16).padStart(2, '0'))
        .join('');
      return makePiece({ hex: `#${hex}`, areaM2: 0.01 + i / 1000 });
    });
    const groups = planSeparation(pieces, 0);
    expect(groups).toHaveLength(12);
    expect(new Set(groups.map(({ name }) => name)).size).toBe(12);
    expect(new Set(groups.flatMap(({ pieces }) => pieces)).size).toBe(30);
    const names = planSeparation(makeChair(), 0, ['Seat']).map(({ name }) => name);
    expect(names).toEqual(['light brown', 'seat 2', 'black']);
  });
});

describe('a proposal without colours', () => {
  const plain = () => makeChair().map((piece) => ({ ...piece, hex: null }));

  it('goes by what parts are called', () => {
    const groups = planSeparation(plain(), 0);
    expect(groups.map(({ name, pieces }) => [name, pieces.length])).toEqual([
      ['slat', 24],
      ['seat', 1],
      ['leg', 4],
      ['button', 12],
      ['screw', 100],
      ['staple', 60],
    ]);
    expect(groups.every(({ hex }) => hex === undefined)).toBe(true);
  });

  it('goes by shapes where names say nothing', () => {
    const pieces = plain().map((piece, i) => ({ ...piece, nodes: [`Mesh.${i}`] }));
    const groups = planSeparation(pieces, 0);
    expect(groups.map(({ pieces }) => pieces.length).sort((a, b) => a - b)).toEqual([5, 12, 24, 60, 100]);
    expect(groups.map(({ name }) => name)).toEqual(['part 1', 'part 2', 'part 3', 'part 4', 'part 5']);
  });
});
