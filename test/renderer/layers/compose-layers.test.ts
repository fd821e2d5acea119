import { describe, expect, it } from 'vitest';
import { composeLayers } from '../../../renderer/layers/compose-layers.ts';
import { cropLayer, sliceLayer } from '../../../renderer/layers/layer.ts';
import { createRandom } from '../../support/random.ts';
import { makeRawLayer, type Pixel } from './raw-layers.ts';

/** Compositing by Porter and Duff, 1984: premultiplied shares of a pixel that do not overlap add up. */
const compose = (widthPx: number, layers: readonly (readonly Pixel[])[], ground: [number, number, number] | null) =>
  composeLayers(
    { widthPx, heightPx: layers[0]!.length / widthPx },
    layers.map((pixels) => cropLayer(makeRawLayer(widthPx, pixels))),
    ground,
  );

describe('a sum of layers', () => {
  it('has every fully covered pixel from the layer that covers it, and the background elsewhere', () => {
    const [red, blue]: Pixel[] = [
      [200, 10, 0, 255],
      [0, 0, 99, 255],
    ];
    const layers = [
      [red!, null, null, null],
      [null, null, blue!, null],
    ];
    expect([...compose(2, layers, null).rgba]).toEqual([200, 10, 0, 255, 0, 0, 0, 0, 0, 0, 99, 255, 0, 0, 0, 0]);
    expect([...compose(2, layers, [250, 251, 252]).rgba]).toEqual([
      200, 10, 0, 255, 250, 251, 252, 255, 0, 0, 99, 255, 250, 251, 252, 255,
    ]);
    expect([compose(2, layers, null).opaque, compose(2, layers, [250, 251, 252]).opaque]).toEqual([false, true]);
  });

  it('rounds once: four remainders of a third of a level make one level more', () => {
    const part = (level: number): Pixel => [level + 85 / 256, 0, 0, 63.75];
    const layers = [[part(10)], [part(20)], [part(30)], [part(40)]];
    // 100 + 4 × 85/256 = 101.33. Rounded separately, they would make 100.
    expect([...compose(1, layers, null).rgba]).toEqual([101, 0, 0, 255]);
  });

  it('stays within a pixel’s range when remainders exceed it', () => {
    const part: Pixel = [128.25, 128, 127.75, 127.75];
    expect([...compose(1, [[part], [part]], null).rgba]).toEqual([255, 255, 255, 255]);
    expect([...compose(1, [[part], [[0, 0, 0, 255]]], null).rgba]).toEqual([128, 128, 128, 255]);
  });

  it('shows partly covered pixels with straight alpha, or mixed with the background', () => {
    const half: Pixel = [51, 102, 0, 127.5];
    expect([...compose(1, [[half]], null).rgba]).toEqual([102, 204, 0, 128]);
    expect([...compose(1, [[half]], [255, 255, 255]).rgba]).toEqual([179, 230, 128, 255]);
    expect([...compose(1, [[half]], [0, 100, 200]).rgba]).toEqual([51, 152, 100, 255]);
    expect([...compose(1, [[[0.25, 0.25, 0.25, 0.375]]], null).rgba]).toEqual([0, 0, 0, 0]);
  });

  it('includes shadows, which are black, and empty layers', () => {
    const layers: Pixel[][] = [
      [null, [0, 0, 0, 51], [0, 0, 0, 20], null],
      [null, [102, 0, 0, 102], null, null],
      [null, null, null, null],
    ];
    expect([...compose(2, layers, [255, 255, 255]).rgba.subarray(4, 12)]).toEqual([
      204, 102, 102, 255, 235, 235, 235, 255,
    ]);
    expect(cropLayer(makeRawLayer(2, layers[0]!)).black).toBe(true);
    expect(cropLayer(makeRawLayer(2, layers[1]!)).black).toBe(false);
  });

  it('dithers only a shadow: its mean stays the same, and everything else is exact', () => {
    // A side of whole periods would hide an uneven pattern.
    const side = 61;
    for (const level of [0.125, 3.5, 20.75, 200.25]) {
      const pixels = Array.from({ length: side * side }, (_, at): Pixel => (at % side < 60 ? [0, 0, 0, level] : null));
      for (const ground of [null, [255, 255, 255], [200, 100, 50]] as const) {
        const { rgba } = compose(side, [pixels], ground && [...ground]);
        // Porter and Duff, 1984: black over a ground leaves the ground the remaining share.
        const expected = ground ? ground.map((value) => value * (1 - level / 255)) : [0, 0, 0, level];
        expected.forEach((value, channel) => {
          const shown = Array.from({ length: side * 60 }, (_, at) => rgba[(at + Math.floor(at / 60)) * 4 + channel]!);
          expect(new Set(shown.map((one) => Math.abs(one - value) < 1))).toEqual(new Set([true]));
          const mean = shown.reduce((sum, one) => sum + one, 0) / shown.length;
          expect(Math.abs(mean - value), `${level} on ${ground}`).toBeLessThan(0.02);
        });
        const bare = [...rgba.subarray(60 * 4, 61 * 4)];
        expect(bare).toEqual(ground ? [...ground, 255] : [0, 0, 0, 0]);
      }
    }
  });

  // By definition, the content of a pixel decides its rounding, whatever the other pixels contain.
  it('dithers a shadow in the same way with a fully dark pixel in its layer', () => {
    const [widthPx, heightPx] = [9, 80];
    const shadow = Array.from({ length: widthPx * heightPx }, (): Pixel => [0, 0, 0, 20.75]);
    for (const ground of [null, [200, 100, 50]] as const) {
      const [plain, dark] = [shadow, [[0, 0, 0, 255] as Pixel, ...shadow.slice(1)]].map((pixels) =>
        compose(widthPx, [pixels], ground && [...ground]).rgba.subarray(4),
      );
      expect(dark).toEqual(plain);
    }
  });

  it('is the same whether summed pixel by pixel or in bands, for frames higher than one band', () => {
    const random = createRandom(2);
    const [widthPx, heightPx] = [7, 71];
    const shares = Array.from({ length: widthPx * heightPx }, () => random.whole(4));
    const layers = [0, 1, 2].map((layer) =>
      shares.map((kind): Pixel => {
        if (kind === 3) return layer === 1 ? [random.whole(256), random.whole(256), random.whole(256), 255] : null;
        if (kind < layer) return null;
        const alpha = random.whole(80) + random.whole(256) / 256;
        return [alpha * 0.25, alpha * 0.5, 0, alpha].map((v) => Math.floor(v * 256) / 256) as unknown as Pixel;
      }),
    );
    const { rgba } = compose(widthPx, layers, [255, 255, 255]);
    for (let pixel = 0; pixel < widthPx * heightPx; pixel++) {
      const sum = [0, 1, 2, 3].map((channel) => layers.reduce((s, l) => s + (l[pixel]?.[channel] ?? 0), 0));
      const expected = sum.slice(0, 3).map((level) => Math.floor(level + (255 - sum[3]!) + 0.5));
      expect([...rgba.subarray(pixel * 4, pixel * 4 + 3)], `pixel ${pixel}`).toEqual(expected);
    }
  });
});

describe('a cropped layer', () => {
  it('is no larger than the pixels it covers', () => {
    const pixels: Pixel[] = Array.from({ length: 48 }, () => null);
    pixels[8 * 2 + 3] = [1, 2, 3, 255];
    pixels[8 * 4 + 5] = [1, 2, 3, 9.5];
    const { left, top, widthPx, heightPx, whole, at, rowEnds } = cropLayer(makeRawLayer(8, pixels));
    expect({ left, top, widthPx, heightPx }).toEqual({ left: 3, top: 2, widthPx: 3, heightPx: 3 });
    expect([whole.length, [...at], [...rowEnds]]).toEqual([9, [2], [0, 0, 1]]);
  });
});

describe('rows of a layer', () => {
  // Compositing works pixel by pixel (Porter and Duff), so rows above or below a strip do not change it.
  it('are the same as in the whole picture, wherever it is cut', () => {
    const random = createRandom(5);
    const [widthPx, heightPx] = [7, 9];
    const part = (black: boolean): Pixel => {
      const alpha = random.whole(256);
      const level = () => (black ? 0 : random.whole(alpha + 1));
      return [level(), level(), level(), alpha];
    };
    const layers = [false, false, true].map((black) =>
      cropLayer(
        makeRawLayer(
          widthPx,
          Array.from({ length: widthPx * heightPx }, (_, at) =>
            // Rows at the top and the bottom are empty, like those above and below a product.
            at < widthPx || at > widthPx * 7 || random.whole(3) > 0 ? null : part(black),
          ),
        ),
      ),
    );
    for (const ground of [null, [250, 240, 230]] as const) {
      const whole = composeLayers({ widthPx, heightPx }, layers, ground);
      for (const cuts of [
        [0, 9],
        [0, 1, 9],
        [0, 4, 5, 9],
        [0, 3, 6, 9],
      ]) {
        const rows = cuts.slice(1).flatMap((bottom, n) => {
          const slices = layers.map((layer) => sliceLayer(layer, cuts[n]!, bottom));
          return [...composeLayers({ widthPx, heightPx: bottom - cuts[n]! }, slices, ground, cuts[n]).rgba];
        });
        expect(rows).toEqual([...whole.rgba]);
      }
    }
  });
});
