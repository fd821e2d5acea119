import { describe, expect, it } from 'vitest';
import { divideByDetailMean } from '../../../../server/core/delivery/divide-by-detail-mean.ts';
import { listOutOfReach } from '../../../../server/core/delivery/list-out-of-reach.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import { KEEP_ALL } from '../../../../server/core/product/slot.ts';
import type { NeutralDetail, Survey } from '../../../../server/core/product/survey.ts';
import type { Schedule } from '../../../../server/core/schedule/schedule.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSlot, makeSurvey } from '../../../support/make-survey.ts';

/** IEC 61966-2-1, decoding, written out here once more. */
const linear = (code: number) => {
  const value = code / 255;
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
};

/** A map of so many texels of each code, the same in red, green and blue. */
const makeDetail = (texels: Readonly<Record<number, number>>): NeutralDetail => {
  const count = Array.from({ length: 256 }, (_, code) => texels[code] ?? 0);
  const all = count.reduce((sum, n) => sum + n, 0);
  const mean = count.reduce((sum, n, code) => sum + n * linear(code), 0) / all;
  return { mean, codes: [count, count, count] };
};
const colour = (...baseColour: [number, number, number]) => ({ baseColour });

describe('a colour over a neutral detail map', () => {
  // glTF 2.0 §3.9.2: the colour seen is factor × texel, in linear light; so its mean is factor × mean
  it('is reached by target ÷ mean', () => {
    const detail = makeDetail({ 255: 2, 188: 2 });
    const { factor, contrast, mean } = divideByDetailMean(colour(0.3, 0.2, 0.05), detail);
    [0.3, 0.2, 0.05].forEach((value, c) => {
      expect(factor[c]).toBeCloseTo(value / detail.mean, 12);
      expect(mean[c]).toBeCloseTo(value, 12);
    });
    expect(contrast).toBeNull();
  });

  it('is reached with less contrast where the factor would be more than 1', () => {
    // texels of 1 and 0.2 in linear light, mean 0.6; a target of 0.8 needs texels of 1 and 0.6 at most: half the contrast
    const { factor, contrast, mean } = divideByDetailMean(colour(0.8, 0.2, 0.1), makeDetail({ 255: 500, 124: 500 }));
    expect(contrast).toBeLessThan(1);
    expect(contrast).toBeGreaterThanOrEqual(0.3);
    expect(Math.max(...factor)).toBeLessThanOrEqual(1);
    [0.8, 0.2, 0.1].forEach((value, c) => {
      expect(mean[c]).toBeCloseTo(value, 9);
    });
  });

  it('is reached as far as a factor goes where the map cannot be read', () => {
    const { factor, contrast, mean } = divideByDetailMean(colour(0.8, 0.2, 0.1), { mean: 0.5, codes: null });
    expect(factor).toEqual([1, 0.4, 0.2]);
    expect(mean).toEqual([0.5, 0.2, 0.1]);
    expect(contrast).toBeNull();
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
      // a map that cannot be read: the factor does what it can
      neutralDetail: mean === null ? null : { mean, codes: null },
    }));
    return { ...survey, materials };
  };
  const list = (mean: number | null, given: Parameters<typeof makeSlot>[1] = {}) =>
    listOutOfReach(makeDetailed(mean), [makeSlot('seat', given)], schedule, resolve);

  it('are told once by slot and finish, with what can be reached instead', () => {
    const [finding, ...more] = list(0.5);
    expect(more).toEqual([]);
    expect(finding).toMatchObject({ code: 'out-of-reach', severity: 'warning', where: 'slot seat' });
    const seen = finding!.seen as { finish: string; hex: string; deltaE: number };
    expect(seen.finish).toBe('SNOW');
    // encoding 0.5 gives 188 (IEC 61966-2-1)
    expect(seen.hex).toBe('#bcbcbc');
    expect(finding!.message).toMatch(/Lighten the map, or set the slot not to keep its detail/);
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
