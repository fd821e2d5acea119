import { describe, expect, it } from 'vitest';
import type { Piece } from '../../../../server/core/product/survey.ts';
import { addColours, addShapes, matchPieces } from '../../../../server/core/repair/match-pieces.ts';
import type { PieceGroup } from '../../../../server/core/repair/repair.ts';
import { makePieces } from '../../../support/make-model-check.ts';

// ΔE*ab is CIE 1976 (CIE 15). #777777 and #7a7a7a are 1.2 apart, #777777 and #ffffff about 50 (colour values from memory).
const GROUPS: readonly PieceGroup[] = [
  { name: 'a', pieces: ['1', '2'], parts: ['Strap'], shapes: ['x', 'both'], hex: '#777777' },
  { name: 'b', pieces: ['2', '3'], shapes: ['y', 'both'], hex: '#aa2222' },
];
const match = (piece: string, shape: string, hex: string | null, part: string | null = null) => {
  const { groups, ...counts } = matchPieces([{ piece, part, shape, hex }], GROUPS);
  return [groups[0], Object.entries(counts).find(([, count]) => count === 1)![0]];
};

it('finds a group by id first, and the first of two', () => {
  expect(match('3', 'x', '#777777')).toEqual([1, 'byId']);
  expect(match('2', 'z', null)).toEqual([0, 'byId']);
});

it('finds a group by the name of its part before its shape', () => {
  expect(match('9', 'y', '#aa2222', 'Strap')).toEqual([0, 'byPart']);
  expect(match('9', 'y', '#aa2222', 'strap_left.002')).toEqual([0, 'byPart']);
  expect(match('3', 'y', '#aa2222', 'Strap')).toEqual([1, 'byId']);
  expect(match('9', 'y', '#aa2222', 'Bag')).toEqual([1, 'byShape']);
});

it('finds a group by a shape that only one group lists', () => {
  expect(match('9', 'y', '#777777')).toEqual([1, 'byShape']);
  expect(match('9', 'both', null)).toEqual([-1, 'left']);
  expect(match('9', 'both', '#aa2222')).toEqual([1, 'byColour']);
});

it('finds a group by the nearest colour, and leaves pieces far from all groups', () => {
  expect(match('9', 'z', '#7a7a7a')).toEqual([0, 'byColour']);
  expect(match('9', 'z', '#ffffff')).toEqual([-1, 'left']);
  expect(match('9', 'z', null)).toEqual([-1, 'left']);
});

// Pieces that were not picked must stay; colours within ΔE*ab 12 (CIE 1976, CIE 15) cannot be told apart.

const [first, ...others] = makePieces(0) as [Piece, ...Piece[]];
const seat = others.at(-1)!;
const pick = (...pieces: readonly Piece[]) => [{ name: 'Picked', pieces: pieces.map(({ piece }) => piece) }];

describe('groups picked by hand', () => {
  it('get the shapes that no other piece has', () => {
    expect(addShapes(pick(first), [first, ...others])[0]!.shapes).toEqual([]);
    expect(addShapes(pick(seat), [first, ...others])[0]!.shapes).toEqual([seat.shape]);
    // all four legs
    const legs = [first, ...others.slice(0, -1)];
    expect(addShapes(pick(...legs), [first, ...others])[0]!.shapes).toEqual([first.shape]);
  });

  it('get the colour of their largest piece where no other has a similar one', () => {
    expect(addColours(pick(first), [first, ...others])[0]!.hex).toBeUndefined();
    expect(addColours(pick(seat), [first, ...others])[0]!.hex).toBe(seat.hex);
    const named = pick(seat).map((group) => ({ ...group, parts: ['Seat.4'] }));
    expect(addColours(named, [first, ...others])[0]!.hex).toBeUndefined();
  });

  it('take no other piece along, even on an atlas of one colour', () => {
    const pieces = [first, ...others].map((piece) => ({ ...piece, hex: '#0e0e0e' }));
    const groups = addColours(addShapes(pick(first), pieces), pieces);
    expect(matchPieces(pieces, groups)).toMatchObject({ byId: 1, left: pieces.length - 1 });
  });
});
