import { expect, it } from 'vitest';
import {
  chooseFillPercent,
  listFrameSizes,
  READY_SETS,
  toMm,
  toPx,
} from '../../../../server/core/picture/picture-set.ts';

// ISO 216: A4 is 210 × 297 mm; an inch is 25.4 mm; print shops ask for 3 mm of bleed (common practice).
it('A4 with 3 mm of bleed at 300 ppi is 2551 × 3579 px, as in print templates', () => {
  const frame = { widthMm: 210, heightMm: 297, ppi: 300, bleedMm: 3 };
  expect(listFrameSizes(frame)).toEqual([{ widthPx: 2551, heightPx: 3579, bleedPx: 35 }]);
  expect(READY_SETS.find(({ code }) => code === 'print')!.frame).toEqual(frame);
});

it('A4 without bleed is 2480 × 3508 px', () => {
  expect(listFrameSizes({ widthMm: 210, heightMm: 297, ppi: 300, bleedMm: 0 })).toEqual([
    { widthPx: 2480, heightPx: 3508, bleedPx: 0 },
  ]);
});

it('an inch has as many pixels as the resolution states', () => {
  expect(toPx(25.4, 300)).toBe(300);
  expect(toPx(0.01, 72)).toBe(1);
});

it('squares and free sizes keep their pixels', () => {
  expect(listFrameSizes({ sizesPx: [512, 1024] })).toEqual([
    { widthPx: 512, heightPx: 512, bleedPx: 0 },
    { widthPx: 1024, heightPx: 1024, bleedPx: 0 },
  ]);
  expect(listFrameSizes({ widthPx: 800, heightPx: 600 })).toEqual([{ widthPx: 800, heightPx: 600, bleedPx: 0 }]);
});

it('pixels on paper follow the resolution, and the fill target is the middle of the allowed range', () => {
  expect(toMm(300, 300)).toBe(25.4);
  // 2551 px are 215.98 mm. A picture has whole pixels, and 216 mm would be 2551.18.
  expect(toMm(2551, 300)).toBe(215.98);
  expect(chooseFillPercent({ minPercent: 75, maxPercent: 90 })).toBe(82.5);
});
