import { describe, expect, it } from 'vitest';
import { chooseSteps, drawRuler, getThickness, placeTick } from '../../../renderer/page/draw-ruler.ts';
import { planPanel } from '../../../server/core/picture/swatch.ts';

const CASES = [32, 64, 256, 512, 1024, 2048].flatMap((sizePx) =>
  [20, 33.3, 100, 300, 2000].map((widthMm) => [sizePx, widthMm] as const),
);

describe.each(CASES)('the ruler of a panel of %i px and %d mm', (sizePx, widthMm) => {
  const layout = planPanel(sizePx, widthMm);
  const steps = chooseSteps(layout);
  const ticks = drawTicks(layout);
  const expected = Array.from({ length: Math.floor(widthMm / steps.minor + 1e-9) + 1 }, (_, at) => at * steps.minor);

  it('has a tick for every step, on the pixel of its millimetre', () => {
    expect(ticks).toHaveLength(expected.length);
    // Ticks at an end stand inside it: their outer edge is the piece's edge.
    const ends = [layout.left, layout.left + layout.widthPx - getThickness(layout)];
    for (const [index, left] of ticks.entries()) {
      if (ends.includes(left)) continue;
      const centre = left + getThickness(layout) / 2;
      expect(Math.abs(centre - layout.left - expected[index]! * layout.pxPerMm)).toBeLessThanOrEqual(1);
    }
    expect(ticks[0]).toBe(layout.left);
  });

  it('has distinct ticks, if the piece is not narrower than its first step', () => {
    if (ticks.length < 2 || expected.at(-1)! * layout.pxPerMm < 8) return;
    for (let at = 1; at < ticks.length; at++) expect(ticks[at]! - ticks[at - 1]!).toBeGreaterThanOrEqual(3);
  });

  it('has digits at ticks only', () => {
    if (steps.label > 0) expect(steps.label % steps.minor).toBe(0);
  });
});

it('the place of a tick is right on any piece', () => {
  const layout = planPanel(512, 100);
  expect(drawTicks(layout, 0)).toEqual(drawTicks(layout, 255));
  expect(drawTicks(layout)).toContain(placeTick(layout, 50));
});

/** Left edges of the ticks, from the first row of the strip. */
function drawTicks(layout: ReturnType<typeof planPanel>, level = 128): number[] {
  const { sizePx, left, widthPx, top, heightPx } = layout;
  const rgba = new Uint8Array(sizePx * sizePx * 4).fill(level);
  drawRuler(rgba, layout);
  const row = (top + heightPx) * sizePx;
  const isInk = (x: number) => rgba[(row + x) * 4]! < 128;
  const found: number[] = [];
  for (let x = left; x < left + widthPx; x++) if (isInk(x) && (x === left || !isInk(x - 1))) found.push(x);
  return found;
}
