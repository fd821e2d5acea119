import { describe, expect, it } from 'vitest';
import type { GrainMark } from '../../server/core/product/survey.ts';
import { drawArrow, fitBox, foldDegrees, makePlacer } from '../../web/pages/product/slots/direction-drawing.tsx';

const BOX = { min: [-1, 0, -2], max: [1, 4, 2] };
/** U to the right and V down, as on a sheet that faces the view. */
const mark = (view: GrainMark['view'], min: readonly [number, number], max: readonly [number, number]): GrainMark => ({
  view,
  min,
  max,
  uu: [1, 0, 0],
  uv: [0, -1, 0],
  vv: [0, 0, 1],
});
const WHOLE = { left: 0, right: 1, top: 0, bottom: 1 };

describe('the direction on a drawing', () => {
  // glTF 2.0 §3.4: +Y up, +Z to the front; pictures are taken from there, from +X, from −Z and from above
  it.each<[GrainMark['view'], readonly [number, number], readonly [number, number]]>([
    ['front', [-1, 4], [1, 0]],
    ['side', [-2, 4], [2, 0]],
    ['back', [-1, 4], [1, 0]],
    ['top', [-1, 2], [1, -2]],
  ])('has the upper left and the lower right of the %s where the picture has them', (view, upperLeft, lowerRight) => {
    const place = makePlacer(BOX, view, { left: 0.2, right: 0.8, top: 0.1, bottom: 0.9 });
    expect(place(...upperLeft)).toEqual([expect.closeTo(0.2), expect.closeTo(0.1)]);
    expect(place(...lowerRight)).toEqual([expect.closeTo(0.8), expect.closeTo(0.9)]);
  });

  it('is placed where a picture would show the product, until there is one', () => {
    // pictures fill 85 % of the frame in the tighter direction
    expect(fitBox(BOX, 'front')).toEqual({
      left: expect.closeTo(0.5 - 0.85 / 4),
      right: expect.closeTo(0.5 + 0.85 / 4),
      top: expect.closeTo(0.075),
      bottom: expect.closeTo(0.925),
    });
  });

  it.each([
    [0, 0, -1],
    [45, -1, -1],
    [90, 1, 0],
    [135, 1, -1],
  ])('runs at %d° counter-clockwise from upright, over the middle of the piece', (degrees, right, down) => {
    const { from, to } = drawArrow(mark('front', [-0.5, 1], [0.5, 2]), degrees, makePlacer(BOX, 'front', WHOLE))!;
    // half of the way across, a quarter of it up: the box is two wide and four high
    expect((from[0] + to[0]) / 2).toBeCloseTo(0.5);
    expect((from[1] + to[1]) / 2).toBeCloseTo(1 - 1.5 / 4);
    const [x, y] = [(to[0] - from[0]) * 2, (to[1] - from[1]) * 4];
    expect(Math.abs(x * down - y * right)).toBeLessThan(1e-9);
    expect(Math.hypot(x, y)).toBeGreaterThan(0.5);
  });

  it('stays on the piece, and is not drawn if directions differ on it', () => {
    const place = makePlacer(BOX, 'front', WHOLE);
    const { from, to } = drawArrow(mark('front', [0, 0], [1, 4]), 30, place)!;
    for (const [x, y] of [from, to]) {
      expect(x).toBeGreaterThan(0.5);
      expect(x).toBeLessThan(1);
      expect(y).toBeGreaterThan(0);
      expect(y).toBeLessThan(1);
    }
    const mixed = { ...mark('front', [0, 0], [1, 4]), uu: [0.5, 0, 0.5], vv: [0.5, 0, 0.5], uv: [0, 0, 0] } as const;
    expect(drawArrow(mixed, 30, place)).toBeNull();
  });

  it.each([
    [0, 0],
    [180, 0],
    [-90, 90],
    [360, 0],
    [-360, 0],
    [200, 20],
  ])('has no head: %d° is %d°', (degrees, expected) => {
    expect(foldDegrees(degrees)).toBe(expected);
  });
});
