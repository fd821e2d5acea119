import { expect, it } from 'vitest';
import { cropLayer } from '../../../renderer/layers/crop-layer.ts';
import { type Layer, measureLayer } from '../../../renderer/layers/layer.ts';
import { createLayerCache } from '../../../renderer/layers/layer-cache.ts';
import { makeRawLayer } from './raw-layers.ts';

const makeLayer = (sidePx: number): Layer =>
  cropLayer(
    makeRawLayer(
      sidePx,
      Array.from({ length: sidePx * sidePx }, () => [1, 2, 3, 255]),
    ),
  );

it('holds layers up to its bytes, and gives up what was out of use longest', () => {
  const layer = makeLayer(32);
  const room = measureLayer(layer) + 1024;
  const cache = createLayerCache(3 * room);
  for (const key of ['a', 'b', 'c']) cache.put(key, layer);
  expect(cache.get('a')).toBe(layer);
  cache.put('d', layer);
  expect(['a', 'b', 'c', 'd'].filter((key) => cache.get(key))).toEqual(['a', 'c', 'd']);
  expect(cache.bytes).toBe(3 * room);
});

it('counts a layer that is put again once, and does not empty itself for one that cannot fit', () => {
  const small = makeLayer(8);
  const room = measureLayer(small) + 1024;
  const cache = createLayerCache(2 * room);
  for (let again = 0; again < 5; again++) cache.put('small', small);
  expect(cache.bytes).toBe(room);
  cache.put('large', makeLayer(64));
  expect([cache.get('small'), cache.get('large'), cache.bytes]).toEqual([small, undefined, room]);
});
