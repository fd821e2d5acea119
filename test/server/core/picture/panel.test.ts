import { expect, it } from 'vitest';
import { choosePanelWidthMm, PANEL_WIDTH_MM, planPanel } from '../../../../server/core/picture/panel.ts';

it.each([32, 63, 256, 511, 2048])('lies on whole pixels and within the picture at %i px', (sizePx) => {
  const { left, top, widthPx, heightPx, rulerPx, pxPerMm } = planPanel(sizePx, 100);
  for (const value of [left, top, widthPx, heightPx, rulerPx]) expect(Number.isInteger(value)).toBe(true);
  expect(Math.min(widthPx, heightPx, rulerPx)).toBeGreaterThan(0);
  expect(left * 2 + widthPx).toBe(sizePx);
  expect(top + heightPx + rulerPx).toBeLessThan(sizePx);
  expect(pxPerMm * 100).toBeCloseTo(widthPx, 9);
});

it('shows two repeats at least, in round figures', () => {
  expect(choosePanelWidthMm(null)).toBe(PANEL_WIDTH_MM.default);
  expect(choosePanelWidthMm({ widthMm: 40, heightMm: 40 })).toBe(100);
  expect(choosePanelWidthMm({ widthMm: 120, heightMm: 240 })).toBe(250);
  // laid across, the repeat is as wide as it is high
  expect(choosePanelWidthMm({ widthMm: 120, heightMm: 240, grainDegrees: 90 })).toBe(500);
  expect(choosePanelWidthMm({ widthMm: 5000, heightMm: 10 })).toBe(PANEL_WIDTH_MM.max);
});
