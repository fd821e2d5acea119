import { describe, expect, it } from 'vitest';
import {
  missedDegrees,
  repeatsByUnit,
  repeatTransform,
  type TextureTransform,
  toUvMap,
  turnNormals,
  UNTURNED,
  UVS_IN_METRES,
} from '../../../../server/core/delivery/repeat-transform.ts';
import type { UvFrame } from '../../../../server/core/product/survey.ts';

const SQUARE = { widthMm: 200, heightMm: 200 };
const OBLONG = { widthMm: 400, heightMm: 100 };

/**
 * Steps in metres right and down on the surface for one repeat across and one down: the inverse of the map, in metres.
 */
function stepsOf(tile: typeof SQUARE, lay: UvFrame, grainDegrees: number) {
  const { a, b, c, d } = toUvMap(repeatTransform(tile, lay, grainDegrees));
  const flat = a * d - b * c;
  const [u, v] = [lay.metresPerU, lay.metresPerV];
  return {
    across: [(d / flat) * u, (-c / flat) * v],
    down: [(-b / flat) * u, (a / flat) * v],
  };
}

function expectStep(step: readonly number[], wanted: readonly number[]): void {
  step.forEach((value, i) => {
    expect(value).toBeCloseTo(wanted[i]!, 9);
  });
}

// Geometry: with v running down, a repeat turned counter-clockwise by g runs across along (cos g, −sin g) and down
// along (sin g, cos g).
describe('a repeat', () => {
  const drawnOut = { ...UVS_IN_METRES, metresPerU: 3, metresPerV: 0.25 };

  it.each([0, 30, 90, 200])(
    'of equal sides turned by %d° keeps its square shape and size, on any stretched UVs',
    (g) => {
      const [cos, sin] = [Math.cos((g * Math.PI) / 180), Math.sin((g * Math.PI) / 180)];
      const { across, down } = stepsOf(SQUARE, drawnOut, g);
      expectStep(across, [0.2 * cos, -0.2 * sin]);
      expectStep(down, [0.2 * sin, 0.2 * cos]);
    },
  );

  it.each([
    [0, [0.4, 0], [0, 0.1]],
    [90, [0, -0.4], [0.1, 0]],
    [180, [-0.4, 0], [0, -0.1]],
    // A turn that no transform can express goes to the nearest quarter.
    [60, [0, -0.4], [0.1, 0]],
    [-20, [0.4, 0], [0, 0.1]],
  ] as const)('of other sides turned by %d° has both, too', (g, wantedAcross, wantedDown) => {
    const { across, down } = stepsOf(OBLONG, drawnOut, g);
    expectStep(across, wantedAcross);
    expectStep(down, wantedDown);
  });

  it('turns with the part’s own map, and with the tile’s own direction', () => {
    const tile = { ...SQUARE, grainDegrees: 20 };
    const { across } = stepsOf(tile, { ...drawnOut, turnDegrees: 350 }, 30);
    expectStep(across, [0.2 * Math.cos((40 * Math.PI) / 180), -0.2 * Math.sin((40 * Math.PI) / 180)]);
    expect(repeatTransform(tile, { ...drawnOut, turnDegrees: 310 }, 30).rotation).toBeUndefined();
  });
});

// Scaling before the turn (KHR_texture_transform, T · R · S) shears an oblong repeat except at quarter turns.
it.each([
  [SQUARE, 30, 0, 0],
  [OBLONG, 90, 0, 0],
  [OBLONG, 30, 0, 30],
  [OBLONG, 60, 0, 30],
  [OBLONG, 350, 0, 10],
  [OBLONG, 20, 60, 10],
])('a repeat of %o at %i° on a part that is turned by %i° misses its direction by %i°', (tile, grain, turn, missed) => {
  expect(missedDegrees(tile, { turnDegrees: turn }, grain)).toBeCloseTo(missed, 9);
});

const RIGHT_ANGLE = Math.PI / 2;

/** The place of a UV point in the map. */
function lay(transform: TextureTransform, u: number, v: number): [number, number] {
  const { a, b, c, d, e, f } = toUvMap(transform);
  return [a * u + b * v + e, c * u + d * v + f];
}

function expectPoint(is: readonly number[], wanted: readonly number[]): void {
  is.forEach((value, i) => {
    expect(value).toBeCloseTo(wanted[i]!, 12);
  });
}

// KHR_texture_transform: translation × rotation × scale; a rotation turns UVs counter-clockwise, v running down.
describe('a texture transform', () => {
  it('leaves coordinates unchanged if it is empty', () => {
    expectPoint(lay({}, 0.3, 0.7), [0.3, 0.7]);
  });

  it('turns a vector from right to up', () => {
    expectPoint(lay({ rotation: RIGHT_ANGLE }, 1, 0), [0, -1]);
    expectPoint(lay({ rotation: RIGHT_ANGLE }, 0, 1), [1, 0]);
  });

  it('scales before it turns, and shifts last', () => {
    expectPoint(lay({ scale: [2, 3], rotation: RIGHT_ANGLE, offset: [0.1, 0.2] }, 1, 0), [0.1, -1.8]);
    expectPoint(lay({ scale: [2, 3], rotation: RIGHT_ANGLE, offset: [0.1, 0.2] }, 0, 1), [3.1, 0.2]);
  });

  // The extension's own example: the lower left quarter of the image, turned clockwise by a right angle.
  it('shows the lower left quarter of an image in the example of its text', () => {
    const example = { offset: [0, 1], rotation: RIGHT_ANGLE, scale: [0.5, 0.5] } as const;
    for (const [u, v] of [
      [0, 0],
      [1, 0],
      [0, 1],
      [1, 1],
    ] as const) {
      const [x, y] = lay(example, u, v);
      expect(x).toBeGreaterThanOrEqual(-1e-12);
      expect(x).toBeLessThanOrEqual(0.5 + 1e-12);
      expect(y).toBeGreaterThanOrEqual(0.5 - 1e-12);
      expect(y).toBeLessThanOrEqual(1 + 1e-12);
    }
  });
});

describe('normals of a turned map', () => {
  const turn = (transform: TextureTransform, [x, y]: readonly [number, number]) => {
    const { xx, xy, yx, yy } = turnNormals(toUvMap(transform))!;
    return [xx * x + xy * y, yx * x + yy * y];
  };

  it('stay unchanged under a transform without a turn, whatever its scale and shift', () => {
    expect(turnNormals(toUvMap({ scale: [4, 0.5], offset: [0.3, 0.1] }))).toEqual({
      ...UNTURNED,
      xy: expect.closeTo(0, 12),
      yx: expect.closeTo(0, 12),
    });
  });

  it('turn with the image, against the rotation', () => {
    // The image appears turned clockwise: a normal that leans right then leans down.
    expectPoint(turn({ rotation: RIGHT_ANGLE }, [1, 0]), [0, -1]);
    expectPoint(turn({ rotation: RIGHT_ANGLE }, [0, 1]), [1, 0]);
    expectPoint(turn({ rotation: -Math.PI / 6, scale: [3, 3] }, [1, 0]), [Math.sqrt(3) / 2, 0.5]);
    expectPoint(turn({ rotation: RIGHT_ANGLE, scale: [2, 5] }, [1, 0]), [0, -1]);
  });

  it('are mirrored with the image', () => {
    expectPoint(turn({ scale: [-1, 1] }, [0.6, 0.2]), [-0.6, 0.2]);
    expectPoint(turn({ scale: [1, -2] }, [0.6, 0.2]), [0.6, -0.2]);
    expectPoint(turn({ scale: [-1, -1] }, [0.6, 0.2]), [-0.6, -0.2]);
  });

  it('keep their length on a slanted map', () => {
    for (const transform of [
      { scale: [2, 5], rotation: 0.7 },
      { scale: [-2, 5], rotation: 0.7 },
    ] as const) {
      expect(Math.hypot(...turn(transform, [0.6, 0.2]))).toBeCloseTo(Math.hypot(0.6, 0.2), 12);
    }
  });

  it('have no frame in a map that collapses to a line, or has no numbers', () => {
    expect(turnNormals(toUvMap({ scale: [0, 1] }))).toBeNull();
    expect(turnNormals(toUvMap({ scale: [Number.NaN, 1] }))).toBeNull();
  });
});

describe('a map that repeats by UV units', () => {
  it('has whole repeats along both', () => {
    expect(repeatsByUnit(toUvMap({ scale: [3, -2], offset: [0.4, 0] }))).toBe(true);
    expect(repeatsByUnit(toUvMap({ scale: [4, 4], rotation: RIGHT_ANGLE }))).toBe(true);
    expect(repeatsByUnit(toUvMap({ scale: [3.5, 2] }))).toBe(false);
    expect(repeatsByUnit(toUvMap({ scale: [4, 4], rotation: 0.5 }))).toBe(false);
  });
});
