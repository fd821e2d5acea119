import sharp from 'sharp';
import { beforeAll, describe, expect, test } from 'vitest';
import { makeMaps } from '../../../server/demo/make-maps.ts';

interface Pixels {
  readonly name: string;
  readonly width: number;
  readonly height: number;
  readonly channels: number;
  readonly data: Uint8Array;
}

let maps: Pixels[];

beforeAll(async () => {
  const files = await makeMaps();
  maps = await Promise.all(
    files.map(async ({ name, bytes }) => {
      const { data, info } = await sharp(bytes).raw().toBuffer({ resolveWithObject: true });
      return { name, width: info.width, height: info.height, channels: info.channels, data };
    }),
  );
}, 180_000);

/** Mean difference, in codes, between one column (or row) of pixels and the next, round the edge. */
function steps({ width, height, channels, data }: Pixels, across: boolean): number[] {
  const [count, length] = across ? [width, height] : [height, width];
  const at = (i: number, k: number): number => (across ? k * width + i : i * width + k) * channels;
  return Array.from({ length: count }, (_, i) => {
    let sum = 0;
    for (let k = 0; k < length; k++) {
      const [here, next] = [at(i, k), at((i + 1) % count, k)];
      for (let c = 0; c < channels; c++) sum += Math.abs(data[here + c]! - data[next + c]!);
    }
    return sum / (length * channels);
  });
}

describe('maps of the demo finishes', () => {
  test('are power-of-two images of at most 1024 px', () => {
    for (const { name, width, height } of maps) {
      for (const size of [width, height]) expect([256, 512, 1024], name).toContain(size);
    }
  });

  test('tile: the step across an edge is no larger than the largest step inside', () => {
    for (const map of maps) {
      for (const across of [true, false]) {
        const inside = steps(map, across);
        const edge = inside.pop()!;
        expect(edge, `${map.name}, ${across ? 'left to right' : 'top to bottom'}`).toBeLessThanOrEqual(
          Math.max(...inside) * 1.02,
        );
      }
    }
  });

  test('of colour reach white, and stay bright, so that a finish keeps the colour it names', () => {
    for (const { name, data } of maps.filter((map) => map.name.endsWith('-colour.png'))) {
      let sum = 0;
      let most = 0;
      for (const code of data) {
        const v = code / 255;
        sum += v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
        most = Math.max(most, code);
      }
      expect(most, name).toBe(255);
      // Wood carries some of its colour in its grain.
      expect(sum / data.length, name).toBeGreaterThan(/oak|walnut/.test(name) ? 0.65 : 0.8);
    }
  });

  test('of relief are level on average', () => {
    for (const { name, data } of maps.filter((map) => map.name.endsWith('-normal.png'))) {
      for (const channel of [0, 1]) {
        let sum = 0;
        for (let i = channel; i < data.length; i += 3) sum += data[i]!;
        expect(Math.abs((sum * 3) / data.length - 127.5), `${name}, channel ${channel}`).toBeLessThan(1.5);
      }
    }
  });
});
