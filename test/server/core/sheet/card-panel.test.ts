import { describe, expect, it } from 'vitest';
import { planPanel } from '../../../../server/core/picture/panel.ts';
import { listRulerMarks, planCardPanel } from '../../../../server/core/sheet/card-panel.ts';
import { CARD_MM, measureChipWidth } from '../../../../server/core/sheet/plan-colour-card.ts';

describe.each(['a4', 'letter'] as const)('a panel in a field on %s', (paper) => {
  const format = { paper } as const;
  const panel = planCardPanel(format);
  const { left, top, widthPx, heightPx, glossPx, sizePx } = planPanel(panel.sizePx, panel.widthMm);
  const mmPerPx = panel.sideMm / sizePx;

  it('is printed 1 : 1, its piece as wide as the field and at its place', () => {
    expect(widthPx * mmPerPx).toBeCloseTo(measureChipWidth(format), 9);
    expect(panel.widthMm).toBe(measureChipWidth(format));
    expect(panel.leftMm + left * mmPerPx).toBeCloseTo(0, 9);
    // a card is there for colours, which a reflection would cover
    expect(panel.topMm + (top + glossPx) * mmPerPx).toBeCloseTo(0, 9);
  });

  it('fills the field, so that nothing beside the piece is printed', () => {
    expect((heightPx - glossPx) * mmPerPx).toBeGreaterThan(Math.max(...CARD_MM.fields));
  });

  it('has about 300 pixels to the inch', () => {
    const ppi = 25.4 / mmPerPx;
    expect(Math.abs(ppi - 300)).toBeLessThan(2);
  });
});

it('the rule has a mark for each millimetre, longer ones at five and ten, and numerals at ten', () => {
  const marks = listRulerMarks(41.75);
  expect(marks).toHaveLength(42);
  const lengths = new Map(marks.map(({ atMm, lengthMm }) => [atMm, lengthMm]));
  expect(lengths.get(40)).toBe(CARD_MM.ruler.mark);
  expect(lengths.get(35)!).toBeLessThan(lengths.get(40)!);
  expect(lengths.get(34)!).toBeLessThan(lengths.get(35)!);
  const numbered = (widthMm: number) =>
    listRulerMarks(widthMm).flatMap(({ atMm, numeral }) => (numeral === null ? [] : [[atMm, numeral]]));
  expect(numbered(41.75)).toEqual([0, 10, 20, 30, 40].map((atMm) => [atMm, String(atMm)]));
  // half of the 20 would hang over the end
  expect(numbered(20.5)).toEqual([0, 10].map((atMm) => [atMm, String(atMm)]));
});
