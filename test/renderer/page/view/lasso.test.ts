import { describe, expect, it } from 'vitest';
import { listCrossings, listInside } from '../../../../renderer/page/view/lasso.ts';

const SQUARE = [
  { x: 0.25, y: 0.25 },
  { x: 0.75, y: 0.25 },
  { x: 0.75, y: 0.75 },
  { x: 0.25, y: 0.75 },
];

describe('a line', () => {
  it('is crossed where it is drawn, and closed', () => {
    expect(listCrossings(SQUARE, 0.5)).toEqual([0.25, 0.75]);
    expect(listCrossings(SQUARE, 0.1)).toEqual([]);
    // a triangle from (0, 0) over (1, 0) to (0, 1): at 0.25 its long side is at 0.75
    const triangle = [
      { x: 0, y: 0 },
      { x: 1, y: 0 },
      { x: 0, y: 1 },
    ];
    expect(listCrossings(triangle, 0.25)).toEqual([0, 0.75]);
  });

  it('that crosses itself encloses what is crossed an odd number of times', () => {
    const bow = [
      { x: 0, y: 0 },
      { x: 1, y: 1 },
      { x: 1, y: 0 },
      { x: 0, y: 1 },
    ];
    expect(listCrossings(bow, 0.25)).toEqual([0, 0.25, 0.75, 1]);
  });
});

describe('a lasso', () => {
  // four rows from the bottom; the square holds the four pixels in the middle
  const pixels = (rows: readonly (readonly number[])[]) => Uint32Array.from([...rows].reverse().flat());

  it('takes what it holds at least half of, as far as that is visible', () => {
    const things = pixels([
      [7, 7, 0, 0],
      [7, 1, 2, 0],
      [0, 1, 2, 2],
      [0, 0, 0, 2],
    ]);
    // 1 is wholly inside; 2 with two of four; 7 not at all
    expect(listInside(things, 4, 4, SQUARE).toSorted()).toEqual([0, 1]);
  });

  it('leaves what it only touches', () => {
    const things = pixels([
      [3, 3, 3, 0],
      [0, 3, 0, 0],
      [0, 0, 0, 0],
      [0, 0, 0, 0],
    ]);
    expect(listInside(things, 4, 4, SQUARE)).toEqual([]);
  });

  it('counts rows from the bottom, as GL does', () => {
    const upper = [
      { x: 0, y: 0 },
      { x: 1, y: 0 },
      { x: 1, y: 0.5 },
      { x: 0, y: 0.5 },
    ];
    expect(listInside(pixels([[5], [9]]), 1, 2, upper)).toEqual([4]);
  });
});
