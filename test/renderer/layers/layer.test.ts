import { describe, expect, it } from 'vitest';
import { cropLayer, packLayer, unpackLayer } from '../../../renderer/layers/layer.ts';
import { createRandom } from '../../support/random.ts';
import { makeRawLayer, type Pixel } from './raw-layers.ts';

const random = createRandom(9);
const pixels = Array.from({ length: 30 * 20 }, (_, index): Pixel => {
  if (index % 3 === 0) return null;
  return index % 3 === 1 ? [index % 200, 20, 30, 255] : [1.5, 0.25, random.whole(90), 90 + random.whole(100)];
});

describe('a stored layer', () => {
  it.each([
    ['a part', pixels],
    ['a shadow', pixels.map((pixel): Pixel => pixel && [0, 0, 0, 7.5])],
    ['nothing', pixels.map(() => null)],
  ])('of %s is read unchanged', async (_, given) => {
    const layer = cropLayer(makeRawLayer(30, given));
    expect(await unpackLayer(await packLayer(layer))).toEqual(layer);
  });

  it('is ignored when a byte was changed, when it is cut short, or when it is another file', async () => {
    const bytes = await packLayer(cropLayer(makeRawLayer(30, pixels)));
    for (const at of [0, 5, 17, 33, 41, 60, bytes.length - 1]) {
      const changed = Uint8Array.from(bytes);
      changed[at]! ^= 64;
      expect(await unpackLayer(changed), `byte ${at}`).toBeNull();
    }
    for (const length of [0, 11, 44, 80, bytes.length - 1]) {
      expect(await unpackLayer(bytes.subarray(0, length)), `${length} bytes`).toBeNull();
    }
    expect(await unpackLayer(new TextEncoder().encode('{"not": "a layer, though long enough to be one"}'))).toBeNull();
  });
});
