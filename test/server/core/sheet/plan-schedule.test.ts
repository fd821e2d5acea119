import { describe, expect, it } from 'vitest';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import { MARGINS_MM, measureTypeArea } from '../../../../server/core/sheet/page.ts';
import type { ScheduleSource } from '../../../../server/core/sheet/plan-schedule.ts';
import {
  measureCellWidth,
  planCompactSchedule,
  planScheduleSheet,
} from '../../../../server/core/sheet/plan-schedule.ts';

const PAPERS = ['a4', 'letter'] as const;

function makeSource(variants: number, slots: number, pictures = true): ScheduleSource {
  const labels = Array.from({ length: slots }, (_, i) => `slot-${i}`);
  return {
    product: { code: 'P', name: 'Product' },
    subtitle: 'Finish schedule',
    date: '2026-11-26',
    size: null,
    slots: labels.map((slot) => ({ slot, label: slot })),
    variants: Array.from({ length: variants }, (_, i) => ({
      code: `V-${i}`,
      name: `Variant ${i}`,
      choices: Object.fromEntries(labels.map((slot) => [slot, 'F'])),
    })),
    defaultCode: 'V-1',
    resolve: (code) =>
      resolveFinish({ finish: code, name: 'Finish', family: 'paint', colour: { hex: '#2f5d73' } }, null),
    pictures,
  };
}

describe.each(PAPERS)('the compact schedule on %s', (paper) => {
  const plan = (variants: number, slots = 5, pictures = true) =>
    planCompactSchedule(makeSource(variants, slots, pictures), { paper, bleedMm: 0, press: false });

  it('has thirty variants on a page, four side by side, in the order of the schedule', () => {
    const { pages } = plan(30);
    expect(pages).toHaveLength(1);
    expect(pages[0]![0]!.variants.map(({ code }) => code)).toEqual(['V-0', 'V-1', 'V-2', 'V-3']);
    expect(pages.flat().flatMap(({ variants }) => variants.map(({ code }) => code))).toEqual(
      Array.from({ length: 30 }, (_, i) => `V-${i}`),
    );
    expect(4 * measureCellWidth({ paper }) + 12).toBeCloseTo(measureTypeArea(paper).widthMm, 9);
  });

  it('never leaves a single row on the last page', () => {
    // 36 fill nine rows; a page has room for eight
    expect(plan(36).pages.map((rows) => rows.length)).toEqual([7, 2]);
  });

  it('keeps its rows on the page with many slots, and loses none', () => {
    for (const slots of [1, 8, 20]) {
      const { pages } = plan(53, slots);
      for (const row of pages.flat())
        expect(row.topMm + row.heightMm).toBeLessThanOrEqual(measureTypeArea(paper).heightMm);
      expect(pages.flat().flatMap(({ variants }) => variants)).toHaveLength(53);
    }
  });

  it('lists the slots of all numbers, however many there are', () => {
    const [few, many] = [plan(40, 5), plan(40, 30)];
    expect(many.keyMm).toBeGreaterThan(few.keyMm);
    expect(many.pages[0]![0]!.topMm - few.pages[0]![0]!.topMm).toBeCloseTo(many.keyMm - few.keyMm, 9);
    // on later pages the list is in the margin above the type area
    expect(many.keyMm).toBeLessThan(MARGINS_MM.top);
  });

  it('is denser without pictures', () => {
    expect(plan(200, 3, false).pages.length).toBeLessThan(plan(200, 3).pages.length);
  });

  it('gives the finish in each slot by its number, and nothing where there is none', () => {
    const source = makeSource(2, 2);
    const variants = [{ ...source.variants[0]!, choices: { 'slot-1': 'F' } }, source.variants[1]!];
    const sheet = planCompactSchedule({ ...source, variants }, { paper, bleedMm: 0, press: false });
    expect(sheet.key).toBe('1 slot-0 · 2 slot-1');
    const [first, second] = sheet.pages[0]![0]!.variants;
    expect(first!.choices.map((choice) => choice?.finish ?? null)).toEqual([null, 'F']);
    expect([first!.isDefault, second!.isDefault]).toEqual([false, true]);
  });
});

describe.each(PAPERS)('the detailed schedule on %s', (paper) => {
  it('never has a single row on a page', () => {
    for (let variants = 2; variants < 40; variants++) {
      const { pages } = planScheduleSheet(makeSource(variants, 4), { paper, bleedMm: 0, press: false });
      for (const rows of pages) expect(rows.length).toBeGreaterThan(1);
      expect(pages.flat()).toHaveLength(variants);
    }
  });
});
