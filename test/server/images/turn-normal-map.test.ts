import { describe, expect, it } from 'vitest';
import { toUvMap, turnNormals, UNTURNED } from '../../../server/core/delivery/uv-map.ts';
import { type Pixels, readPixels } from '../../../server/images/read-pixels.ts';
import { turnNormalMap } from '../../../server/images/remake-map.ts';
import { makeNormalPng, normalOf } from '../../support/make-normals.ts';

// codes of a normal map: component × 127.5 + 127.5 (glTF 2.0, normalTexture: 0–255 stand for −1 to 1)

const rise = (u: number, v: number) => normalOf(0.5 * u, 0.3 - 0.4 * v);
const makeMap = async () => readPixels(await makeNormalPng([4, 8], rise));
const frameOf = (rotation: number) => turnNormals(toUvMap({ rotation }))!;

function read({ data, channels }: Pixels): number[][] {
  return Array.from({ length: data.length / channels }, (_, at) => [
    ...data.subarray(at * channels, at * channels + 3),
  ]);
}

describe('a map with its normals turned', () => {
  it.each([
    // a positive rotation of the coordinates shows the map turned clockwise: +x comes to lie along −y
    ['a quarter clockwise', Math.PI / 2, ([x, y, z]: number[]) => [y, 255 - x!, z]],
    ['by half a turn', Math.PI, ([x, y, z]: number[]) => [255 - x!, 255 - y!, z]],
    ['a quarter counter-clockwise', (3 * Math.PI) / 2, ([x, y, z]: number[]) => [255 - y!, x, z]],
  ] as const)('%s has the same normals, each in its place', async (_, rotation, expected) => {
    const map = await makeMap();
    expect(read(turnNormalMap(map, frameOf(rotation)))).toEqual(read(map).map(expected));
  });

  it('keeps their slope at any angle, to the rounding of a code', async () => {
    const map = await makeMap();
    const [before, after] = [read(map), read(turnNormalMap(map, frameOf(0.6)))];
    before.forEach((code, at) => {
      const slope = (of: readonly number[]) => Math.hypot(of[0]! - 127.5, of[1]! - 127.5);
      expect(Math.abs(slope(after[at]!) - slope(code))).toBeLessThanOrEqual(Math.SQRT1_2);
      expect(after[at]![2]).toBe(code[2]);
    });
  });

  it('is the map itself when nothing is turned', async () => {
    const map = await makeMap();
    expect(read(turnNormalMap(map, UNTURNED))).toEqual(read(map));
  });
});
