import { expect, it } from 'vitest';
import { matchPieces } from '../../../../server/core/repair/match-pieces.ts';
import type { PieceGroup } from '../../../../server/core/repair/repair.ts';

// ΔE*ab is CIE 1976 (CIE 15). #777777 and #7a7a7a are 1.2 apart, #777777 and #ffffff about 50 (colour values from memory).
const GROUPS: readonly PieceGroup[] = [
  { name: 'a', pieces: ['1', '2'], parts: ['Strap'], shapes: ['x', 'both'], hex: '#777777' },
  { name: 'b', pieces: ['2', '3'], shapes: ['y', 'both'], hex: '#aa2222' },
];
const match = (piece: string, shape: string, hex: string | null, part: string | null = null) => {
  const { groups, ...counts } = matchPieces([{ piece, part, shape, hex }], GROUPS);
  return [groups[0], Object.entries(counts).find(([, count]) => count === 1)![0]];
};

it('finds a group by id before all else, and the first of two', () => {
  expect(match('3', 'x', '#777777')).toEqual([1, 'byId']);
  expect(match('2', 'z', null)).toEqual([0, 'byId']);
});

it('finds it by the name of its part before its shape', () => {
  expect(match('9', 'y', '#aa2222', 'Strap')).toEqual([0, 'byPart']);
  expect(match('9', 'y', '#aa2222', 'strap_left.002')).toEqual([0, 'byPart']);
  expect(match('3', 'y', '#aa2222', 'Strap')).toEqual([1, 'byId']);
  expect(match('9', 'y', '#aa2222', 'Bag')).toEqual([1, 'byShape']);
});

it('finds it by a shape that one group alone lists', () => {
  expect(match('9', 'y', '#777777')).toEqual([1, 'byShape']);
  expect(match('9', 'both', null)).toEqual([-1, 'left']);
  expect(match('9', 'both', '#aa2222')).toEqual([1, 'byColour']);
});

it('finds it by the nearest colour, and leaves what is far from all', () => {
  expect(match('9', 'z', '#7a7a7a')).toEqual([0, 'byColour']);
  expect(match('9', 'z', '#ffffff')).toEqual([-1, 'left']);
  expect(match('9', 'z', null)).toEqual([-1, 'left']);
});
