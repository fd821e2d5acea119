import { describe, expect, it } from 'vitest';
import {
  repeatsByUnit,
  type TextureTransform,
  toUvMap,
  turnNormals,
  UNTURNED,
} from '../../../../server/core/delivery/uv-map.ts';

const RIGHT_ANGLE = Math.PI / 2;

/** Where a point of the UVs is in the map. */
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
  it('leaves coordinates as they are when it says nothing', () => {
    expectPoint(lay({}, 0.3, 0.7), [0.3, 0.7]);
  });

  it('turns what points right to what points up', () => {
    expectPoint(lay({ rotation: RIGHT_ANGLE }, 1, 0), [0, -1]);
    expectPoint(lay({ rotation: RIGHT_ANGLE }, 0, 1), [1, 0]);
  });

  it('scales before it turns, and shifts last', () => {
    expectPoint(lay({ scale: [2, 3], rotation: RIGHT_ANGLE, offset: [0.1, 0.2] }, 1, 0), [0.1, -1.8]);
    expectPoint(lay({ scale: [2, 3], rotation: RIGHT_ANGLE, offset: [0.1, 0.2] }, 0, 1), [3.1, 0.2]);
  });

  // the extension's own example: the lower left quarter of the image, turned clockwise by a right angle
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

describe('normals of a map that is laid turned', () => {
  const turn = (transform: TextureTransform, [x, y]: readonly [number, number]) => {
    const { xx, xy, yx, yy } = turnNormals(toUvMap(transform))!;
    return [xx * x + xy * y, yx * x + yy * y];
  };

  it('stay as they are under what does not turn, however it scales and shifts', () => {
    expect(turnNormals(toUvMap({ scale: [4, 0.5], offset: [0.3, 0.1] }))).toEqual({
      ...UNTURNED,
      xy: expect.closeTo(0, 12),
      yx: expect.closeTo(0, 12),
    });
  });

  it('turn with the image, which is against the rotation', () => {
    // the image is seen turned clockwise: what leans right leans down
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

  it('keep their length where the map is slanted', () => {
    for (const transform of [
      { scale: [2, 5], rotation: 0.7 },
      { scale: [-2, 5], rotation: 0.7 },
    ] as const) {
      expect(Math.hypot(...turn(transform, [0.6, 0.2]))).toBeCloseTo(Math.hypot(0.6, 0.2), 12);
    }
  });

  it('have no frame in a map that is laid on a line, or by no numbers', () => {
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
