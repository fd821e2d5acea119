import { describe, expect, it } from 'vitest';
import {
  choosePanelWidthMm,
  findWholeRepeats,
  PANEL_WIDTH_MM,
  planPanel,
} from '../../../../server/core/picture/swatch.ts';

it.each([32, 63, 256, 511, 2048])('lies on whole pixels and within the picture at %i px', (sizePx) => {
  const { left, top, widthPx, heightPx, rulerPx, pxPerMm } = planPanel(sizePx, 100);
  for (const value of [left, top, widthPx, heightPx, rulerPx]) expect(Number.isInteger(value)).toBe(true);
  expect(Math.min(widthPx, heightPx, rulerPx)).toBeGreaterThan(0);
  expect(left * 2 + widthPx).toBe(sizePx);
  expect(top + heightPx + rulerPx).toBeLessThan(sizePx);
  expect(pxPerMm * 100).toBeCloseTo(widthPx, 9);
});

it('shows at least two repeats, in round figures', () => {
  expect(choosePanelWidthMm(null)).toBe(PANEL_WIDTH_MM.default);
  expect(choosePanelWidthMm({ widthMm: 40, heightMm: 40 })).toBe(100);
  expect(choosePanelWidthMm({ widthMm: 120, heightMm: 240 })).toBe(250);
  // Laid across, the repeat is as wide as its height.
  expect(choosePanelWidthMm({ widthMm: 120, heightMm: 240, grainDegrees: 90 })).toBe(500);
  expect(choosePanelWidthMm({ widthMm: 5000, heightMm: 10 })).toBe(PANEL_WIDTH_MM.max);
});

describe('whole repeats of a pattern', () => {
  const layout = planPanel(1000, 100);
  const tile = { widthMm: 30, heightMm: 30 };

  it('lie below the gloss band, and no measured field reaches into the band', () => {
    const lit = findWholeRepeats(layout, tile)!;
    expect(lit.top).toBe(layout.top + layout.glossPx);
    expect(lit.top + lit.height).toBeLessThanOrEqual(layout.top + layout.heightPx);
    // 88 mm across hold three of 30 mm at 8.8 px; 57.5 mm down hold two.
    expect(lit.width).toBeCloseTo(3 * 30 * layout.pxPerMm, 6);
    expect(lit.height).toBeCloseTo(2 * 30 * layout.pxPerMm, 6);
    // A disc of 22 % of the side in the middle of the picture.
    expect(layout.top + layout.glossPx).toBeLessThanOrEqual(500 - 220);
  });

  it('use the whole piece in even light', () => {
    const flat = findWholeRepeats(layout, tile, true)!;
    expect(flat.top).toBe(layout.top);
    expect(flat.height).toBeCloseTo(3 * 30 * layout.pxPerMm, 6);
  });
});
