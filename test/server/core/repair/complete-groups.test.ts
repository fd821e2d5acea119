import { describe, expect, it } from 'vitest';
import type { Piece } from '../../../../server/core/product/survey.ts';
import { addColours, addShapes } from '../../../../server/core/repair/complete-groups.ts';
import { matchPieces } from '../../../../server/core/repair/match-pieces.ts';
import { makePieces } from '../../../support/make-model-check.ts';

// What was not picked must not be taken along; colours within ΔE*ab 12 (CIE 1976, CIE 15) cannot be told apart.

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

  it('get the colour of their largest piece where no other is like it', () => {
    expect(addColours(pick(first), [first, ...others])[0]!.hex).toBeUndefined();
    expect(addColours(pick(seat), [first, ...others])[0]!.hex).toBe(seat.hex);
    const named = pick(seat).map((group) => ({ ...group, parts: ['Seat.4'] }));
    expect(addColours(named, [first, ...others])[0]!.hex).toBeUndefined();
  });

  it('take no other piece along, on an atlas of one colour either', () => {
    const pieces = [first, ...others].map((piece) => ({ ...piece, hex: '#0e0e0e' }));
    const groups = addColours(addShapes(pick(first), pieces), pieces);
    expect(matchPieces(pieces, groups)).toMatchObject({ byId: 1, left: pieces.length - 1 });
  });
});
