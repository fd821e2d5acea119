import { describe, expect, it } from 'vitest';
import {
  type DrawnFrom,
  planDimensions,
  planFloorMark,
  project,
} from '../../web/pages/product/view/plan-dimensions.ts';

// A box 0.4 m wide, 0.6 m deep and 0.8 m high on the floor, seen without perspective in a drawing of 400 × 400 px that shows
// 2 m: 200 px are one metre, and (0, 0.5, 0) is in the middle.
const BOX = { min: [-0.2, 0, -0.3], max: [0.2, 0.8, 0.3] };

/** A camera that stands at +z, turned by `yaw` towards +x and raised by `elevation`. Rows of the matrix are those of the camera. */
function look(yawDegrees: number, elevationDegrees: number): DrawnFrom {
  const [yaw, up] = [(yawDegrees * Math.PI) / 180, (elevationDegrees * Math.PI) / 180];
  const right = [Math.cos(yaw), 0, -Math.sin(yaw)];
  const above = [-Math.sin(yaw) * Math.sin(up), Math.cos(up), -Math.cos(yaw) * Math.sin(up)];
  const matrix = [0, 1, 2].flatMap((axis) => [right[axis]!, above[axis]!, 0, 0]);
  return {
    shot: { yawDegrees, elevationDegrees },
    matrix: [...matrix, 0, -0.5 * above[1]!, 0, 1],
    width: 400,
    height: 400,
  };
}

const close = (x: number, y: number) => ({ x: expect.closeTo(x, 6), y: expect.closeTo(y, 6) });

describe('a place in the drawing', () => {
  it('runs to the right and down', () => {
    expect(project([0, 0.5, 0], look(0, 0))).toEqual(close(200, 200));
    expect(project([0.2, 0.8, 0.3], look(0, 0))).toEqual(close(240, 140));
    // from the side, the front is on the left
    expect(project([0, 0, 0.3], look(90, 0))).toEqual(close(140, 300));
  });

  it('is nowhere behind the camera', () => {
    const behind = { ...look(0, 0), matrix: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, -1, 0, 0, 0, 1] };
    expect(project([0, 0, 2], behind)).toBeNull();
  });
});

describe('dimension lines', () => {
  it('from the front are width and height; the depth is seen end on', () => {
    const lines = planDimensions(BOX, look(0, 0));
    expect(lines.map(({ side, lengthMm }) => [side, Math.round(lengthMm)])).toEqual([
      ['width', 400],
      ['height', 800],
    ]);
    const [width, height] = lines;
    // on the floor: 0.5 m below the middle
    expect([width!.from, width!.to]).toEqual([close(160, 300), close(240, 300)]);
    // 8 % of 0.8 m to the left of the box: 12.8 px
    expect([height!.from, height!.to]).toEqual([close(147.2, 300), close(147.2, 140)]);
  });

  it('have figures away from the product that are never upside down', () => {
    for (let yaw = -180; yaw < 180; yaw += 15) {
      for (const elevation of [0, 30, 90]) {
        for (const { figure, from, to } of planDimensions(BOX, look(yaw, elevation))) {
          expect(figure.turn).toBeGreaterThan(-90.01);
          expect(figure.turn).toBeLessThan(90);
          const middle = project([0, 0.4, 0], look(yaw, elevation))!;
          const line = { x: (from.x + to.x) / 2, y: (from.y + to.y) / 2 };
          const away = (place: { x: number; y: number }) => Math.hypot(place.x - middle.x, place.y - middle.y);
          expect(away(figure)).toBeGreaterThan(away(line));
        }
      }
    }
  });

  it('stand on the sides that face the camera', () => {
    // from the right and the back, raised: the depth on +x, the width on −z
    const [width, depth] = planDimensions(BOX, look(135, 30));
    expect(depth!.from).toEqual(project([0.2 + 0.064, 0, -0.3], look(135, 30)));
    expect(width!.from).toEqual(project([-0.2, 0, -0.3 - 0.064], look(135, 30)));
  });

  it('from above are width and depth', () => {
    expect(planDimensions(BOX, look(0, 90)).map(({ side }) => side)).toEqual(['width', 'depth']);
  });

  it('of a flat model leave out the side that it lacks', () => {
    const flat = { min: [-0.2, 0, -0.3], max: [0.2, 0, 0.3] };
    expect(planDimensions(flat, look(30, 40)).map(({ side }) => side)).toEqual(['width', 'depth']);
  });
});

describe('the mark on the floor', () => {
  it('is a metre long', () => {
    const mark = planFloorMark(BOX, look(0, 0))!;
    expect(mark.lengthMm).toBe(1000);
    expect(mark.to.x - mark.from.x).toBeCloseTo(200, 6);
    expect(mark.from.y).toBeCloseTo(300, 6);
  });

  it('is a tenth of that where a metre is too long for the drawing', () => {
    const near = look(0, 0);
    // ten times as large
    const matrix = near.matrix.map((value, at) => (at % 4 < 2 ? value * 10 : value));
    const mark = planFloorMark({ min: [-0.02, 0, -0.03], max: [0.02, 0.08, 0.03] }, { ...near, matrix })!;
    expect(mark.lengthMm).toBe(100);
    expect(mark.to.x - mark.from.x).toBeCloseTo(200, 6);
  });

  it('lies along the side that faces the camera', () => {
    const mark = planFloorMark(BOX, look(90, 0))!;
    expect(Math.abs(mark.to.x - mark.from.x)).toBeCloseTo(200, 6);
  });
});
