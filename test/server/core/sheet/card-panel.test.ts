import { describe, expect, it } from 'vitest';
import { planPanel } from '../../../../server/core/picture/panel.ts';
import { listRulerMarks, planCardPanel } from '../../../../server/core/sheet/card-panel.ts';
import { CARD_MM, measureChipWidth } from '../../../../server/core/sheet/plan-colour-card.ts';

describe.each(['a4', 'letter'] as const)('a panel in a field on %s', (paper) => {
  const format = { paper, bleedMm: 0 } as const;
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
    expect((heightPx - glossPx) * mmPerPx).toBeGreaterThan(CARD_MM.chipHeight);
  });

  it('has about 300 pixels to the inch', () => {
    const ppi = 25.4 / mmPerPx;
    expect(Math.abs(ppi - 300)).toBeLessThan(2);
  });
});

it('the rule has a mark for each millimetre, longer ones at five and ten', () => {
  const marks = listRulerMarks(41.75);
  expect(marks).toHaveLength(42);
  const lengths = new Map(marks.map(({ atMm, lengthMm }) => [atMm, lengthMm]));
  expect(lengths.get(40)).toBe(CARD_MM.ruler);
  expect(lengths.get(35)!).toBeLessThan(lengths.get(40)!);
  expect(lengths.get(34)!).toBeLessThan(lengths.get(35)!);
});
