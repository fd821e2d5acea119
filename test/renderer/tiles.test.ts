import { expect, it } from 'vitest';
import { listTiles, placeTile } from '../../renderer/tiles.ts';

it('covers every pixel once, with tiles no larger than allowed', () => {
  const [width, height] = [103, 57];
  const picture = new Uint8Array(width * height * 4);
  const seen = new Uint8Array(width * height);
  for (const tile of listTiles(width, height, 25)) {
    expect(Math.max(tile.widthPx, tile.heightPx)).toBeLessThanOrEqual(25);
    const pixels = new Uint8Array(tile.widthPx * tile.heightPx * 4);
    for (let y = 0; y < tile.heightPx; y++) {
      for (let x = 0; x < tile.widthPx; x++) {
        seen[(tile.top + y) * width + tile.left + x]!++;
        pixels.set([tile.left + x, tile.top + y, 7, 9], (y * tile.widthPx + x) * 4);
      }
    }
    placeTile(picture, width, 0, tile, pixels);
  }
  expect(seen.every((times) => times === 1)).toBe(true);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const at = (y * width + x) * 4;
      expect([...picture.subarray(at, at + 4)]).toEqual([x, y, 7, 9]);
    }
  }
});

it('draws a small picture as one tile', () => {
  expect(listTiles(100, 80, 100)).toEqual([{ left: 0, top: 0, widthPx: 100, heightPx: 80 }]);
});
