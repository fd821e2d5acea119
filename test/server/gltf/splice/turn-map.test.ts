import { describe, expect, it } from 'vitest';
import { toUvMap, turnNormals, UNTURNED } from '../../../../server/core/delivery/uv-map.ts';
import { readPixels } from '../../../../server/gltf/read-pixels.ts';
import { turnMap } from '../../../../server/gltf/splice/turn-map.ts';
import { makeNormalPng, normalOf } from '../../../support/make-normals.ts';

// codes of a normal map: component × 127.5 + 127.5 (glTF 2.0, normalTexture: 0–255 stand for −1 to 1)

const rise = (u: number, v: number) => normalOf(0.5 * u, 0.3 - 0.4 * v);
const makeMap = async () => ({ bytes: await makeNormalPng([4, 8], rise), mimeType: 'image/png' as const });
const frameOf = (rotation: number) => turnNormals(toUvMap({ rotation }))!;

async function read(bytes: Uint8Array): Promise<number[][]> {
  const { data, channels } = await readPixels(bytes);
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
    const { bytes, mimeType } = await turnMap(map, frameOf(rotation));
    expect(mimeType).toBe('image/png');
    expect(await read(bytes)).toEqual((await read(map.bytes)).map(expected));
  });

  it('keeps their slope at any angle, to the rounding of a code', async () => {
    const map = await makeMap();
    const [before, after] = [await read(map.bytes), await read((await turnMap(map, frameOf(0.6))).bytes)];
    before.forEach((code, at) => {
      const slope = (of: readonly number[]) => Math.hypot(of[0]! - 127.5, of[1]! - 127.5);
      expect(Math.abs(slope(after[at]!) - slope(code))).toBeLessThanOrEqual(Math.SQRT1_2);
      expect(after[at]![2]).toBe(code[2]);
    });
  });

  it('is the map itself when nothing is turned, the same bytes each time, and not tried with what cannot be read', async () => {
    const map = await makeMap();
    expect(await read((await turnMap(map, UNTURNED)).bytes)).toEqual(await read(map.bytes));
    const twice = [await turnMap(map, frameOf(0.6)), await turnMap(map, frameOf(0.6))];
    expect(twice[0]!.bytes).toEqual(twice[1]!.bytes);
    const packed = { bytes: new Uint8Array([1, 2, 3]), mimeType: 'image/ktx2' as const };
    expect(await turnMap(packed, frameOf(0.6))).toBe(packed);
  });
});
