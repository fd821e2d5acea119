import { describe, expect, it } from 'vitest';
import { listOutOfReach } from '../../../../server/core/delivery/list-out-of-reach.ts';
import { reachDetail } from '../../../../server/core/delivery/reach-detail.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import { KEEP_ALL } from '../../../../server/core/product/slot.ts';
import type { Survey } from '../../../../server/core/product/survey.ts';
import type { Schedule } from '../../../../server/core/schedule/schedule.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSlot, makeSurvey } from '../../../support/make-survey.ts';

/** IEC 61966-2-1, decoding, written out here once more. */
const linear = (code: number) => {
  const value = code / 255;
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
};

describe('a colour over a neutral detail map', () => {
  // glTF 2.0 §3.9.2: the colour seen is factor × texel, in linear light; so its mean is factor × mean
  it('is reached by target ÷ mean', () => {
    const { factor, demand, deltaE } = reachDetail([0.3, 0.2, 0.05], 0.4);
    [0.75, 0.5, 0.125].forEach((value, c) => {
      expect(factor[c]).toBeCloseTo(value, 12);
    });
    expect(demand).toBeCloseTo(0.75, 12);
    expect(deltaE).toBe(0);
  });

  it('is reached as far as a factor goes, 1, and no farther', () => {
    const { factor, demand, colour, deltaE } = reachDetail([0.8, 0.2, 0.1], 0.5);
    expect(factor).toEqual([1, 0.4, 0.2]);
    expect(demand).toBeCloseTo(1.6, 12);
    expect(colour).toEqual([0.5, 0.2, 0.1]);
    expect(deltaE).toBeGreaterThan(5);
    // white over a map of mean 1 is white: a plain map takes every colour
    expect(reachDetail([1, 1, 1], 1)).toMatchObject({ factor: [1, 1, 1], deltaE: 0 });
  });

  it('of any eight-bit map that varies is short of white', () => {
    // the lightest map that varies at all: one texel of four a code below white
    const mean = (3 + linear(254)) / 4;
    expect(mean).toBeLessThan(1);
    expect(reachDetail([1, 1, 1], mean).demand).toBeGreaterThan(1);
  });
});

describe('finishes out of reach', () => {
  const finishes = byFoldedCode([
    makeFinish('SNOW', { colour: { hex: '#f5f5f0' } }),
    makeFinish('COAL', { colour: { hex: '#202020' } }),
    makeFinish('PRINT', { colour: { hex: '#ffffff' }, maps: { colour: 'print' } }),
  ]);
  const resolve = (code: string) => resolveFinish(finishes.get(code.toLowerCase())!, null);
  const schedule: Schedule = {
    default: 'A',
    variants: ['SNOW', 'COAL', 'PRINT', 'SNOW'].map((finish, i) => ({
      code: `${i}`,
      name: `Variant ${i}`,
      choices: { seat: finish },
    })),
  };
  const makeDetailed = (mean: number | null): Survey => {
    const survey = makeSurvey(['seat'], [[{ material: 0 }]]);
    const materials = survey.materials.map((material) => ({
      ...material,
      neutralDetail: mean === null ? null : { mean },
    }));
    return { ...survey, materials };
  };
  const list = (mean: number | null, given: Parameters<typeof makeSlot>[1] = {}) =>
    listOutOfReach(makeDetailed(mean), [makeSlot('seat', given)], schedule, resolve);

  it('are told once by slot and finish, with what can be reached instead', () => {
    const [finding, ...more] = list(0.5);
    expect(more).toEqual([]);
    expect(finding).toMatchObject({ code: 'out-of-reach', severity: 'warning', where: 'slot seat' });
    const seen = finding!.seen as { finish: string; factor: number; hex: string; deltaE: number };
    expect(seen.finish).toBe('SNOW');
    expect(seen.factor).toBeCloseTo(linear(0xf5) / 0.5, 9);
    // encoding 0.5 gives 188 (IEC 61966-2-1)
    expect(seen.hex).toBe('#bcbcbc');
    expect(finding!.message).toMatch(/Lighten the map, or let the slot not keep its detail/);
    expect(finding!.message).toContain(seen.deltaE.toFixed(1));
  });

  it('are none where the map is light enough, is no detail, is not kept, or the slot is fixed', () => {
    expect(list(0.95)).toEqual([]);
    expect(list(null)).toEqual([]);
    expect(list(0.5, { keep: { ...KEEP_ALL, detail: false } })).toEqual([]);
    expect(list(0.5, { fixed: true })).toEqual([]);
  });

  it('are looked for in slots stored before there was detail to keep', () => {
    const { detail: _, ...old } = KEEP_ALL;
    expect(list(0.5, { keep: old as typeof KEEP_ALL })).toHaveLength(1);
  });
});
