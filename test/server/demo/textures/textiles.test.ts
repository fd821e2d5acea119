import { expect, it } from 'vitest';
import { makePile, setRows, throwRings } from '../../../../server/demo/textures/textiles.ts';

// Common practice of the trade: the rings of a bouclé yarn are 2 to 6 mm across, the loops of terry 3 to 5 mm long.

const YARN_MM = 0.95;

it('rings of bouclé are of true size, yarn and all, and spread over the cloth', () => {
  const rings = throwRings(80, 48, 31);
  for (const { radiusMm } of rings) {
    const acrossMm = 2 * Math.abs(radiusMm) + YARN_MM;
    expect(acrossMm).toBeGreaterThanOrEqual(2);
    expect(acrossMm).toBeLessThanOrEqual(6);
  }
  // one in every square of the grid: none lies bare
  const squares = new Set(rings.map(({ x, y }) => Math.floor((x / 80) * 48) * 48 + Math.floor((y / 80) * 48)));
  expect(squares.size).toBe(48 * 48);
});

it('loops of terry are as long as they are high, there and back', () => {
  for (const { radiusMm, turn, legMm } of setRows(60, 20, 20, 37)) {
    // half of the way round and one leg are one side of a loop that leans flat
    const lyingMm = legMm + Math.abs(radiusMm) * (turn / 2) + 0.4;
    expect(lyingMm).toBeGreaterThan(1.5);
    expect(lyingMm).toBeLessThan(5);
  }
});

it('one ring has its place and its width', () => {
  // two millimetres round the middle of a tile of 16 mm: 4 mm between the middles of its yarn
  const ring = { x: 10, y: 8, heading: Math.PI / 2, radiusMm: 2, turn: 2 * Math.PI, legMm: 0, waver: 0 };
  const { relief } = makePile({ sizePx: 256, tileMm: 16, yarnMm: 1, heightMm: [2, 2], loops: [ring], seed: 1 });
  const perMm = 256 / 16;
  let [left, right, top, bottom] = [256, 0, 256, 0];
  relief.values.forEach((height, at) => {
    if (height <= 0) return;
    const [x, y] = [at % 256, Math.floor(at / 256)];
    [left, right, top, bottom] = [Math.min(left, x), Math.max(right, x), Math.min(top, y), Math.max(bottom, y)];
  });
  // 5 mm outside; a yarn is up to 15 % thicker or thinner, and steps are a pixel or two
  for (const span of [right - left, bottom - top]) expect(Math.abs(span / perMm - 5)).toBeLessThan(0.4);
});
