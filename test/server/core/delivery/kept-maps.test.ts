import { describe, expect, it } from 'vitest';
import {
  divideByDetailMean,
  findWear,
  judgeWear,
  listOutOfReach,
  planWear,
} from '../../../../server/core/delivery/kept-maps.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import { KEEP_ALL } from '../../../../server/core/product/slot.ts';
import type { NeutralDetail, Survey } from '../../../../server/core/product/survey.ts';
import type { Schedule } from '../../../../server/core/schedule/schedule.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSlot, makeSurvey } from '../../../support/make-survey.ts';

const finishes = byFoldedCode([
  makeFinish('SATIN', { roughness: 0.3 }),
  makeFinish('MATT', { roughness: 0.9 }),
  makeFinish('STEEL', { roughness: 0.3, metal: true }),
  makeFinish('OWN', { roughness: 0.9, maps: { roughness: 'grain' } }),
]);
const resolve = (code: string) => resolveFinish(finishes.get(code.toLowerCase())!, null);

type Range = readonly [min: number, mean: number, max: number];

/** A seat with one material, whose metal-roughness map has this roughness and this metalness. */
function makeWorn(green: Range | null, blue: Range = [0, 0, 0], roughness = 1, uvSets = 1): Survey {
  const survey = makeSurvey(['seat'], [[{ material: 0, uvSets }]]);
  const channel = ([min, mean, max]: Range) => ({ min, mean, max, spread: 0 });
  return {
    ...survey,
    materials: survey.materials.map((material) => ({
      ...material,
      factors: { ...material.factors, roughness },
      maps: [{ use: 'pbrMetallicRoughness.metallicRoughnessTexture', texture: 0, image: 0, texCoord: 0 }],
    })),
    images: [
      { content: green && { channels: [channel([0, 0, 0]), channel(green), channel(blue)] } },
    ] as unknown as Survey['images'],
  };
}
const find = (survey: Survey, keep: Partial<typeof KEEP_ALL> = {}) =>
  findWear(makeSlot('seat', { keep: { ...KEEP_ALL, ...keep } }), survey.primitives[0]!, survey);

describe('wear', () => {
  // glTF 2.0 §3.9.2: roughness is in green, metalness in blue, both linear.
  it('has the mean of green, and whether blue is full', () => {
    expect(find(makeWorn([0.2, 0.6, 0.9], [0.1, 0.2, 0.9]))).toEqual({ mean: 0.6, fullMetal: false });
    expect(find(makeWorn([0.2, 0.6, 0.9], [1, 1, 1]))).toEqual({ mean: 0.6, fullMetal: true });
  });

  it('is null for an even map, apart from an encoder’s rounding', () => {
    expect(find(makeWorn([0.6, 0.6, 0.6]))).toBeNull();
    expect(find(makeWorn([100 / 255, 101 / 255, 102 / 255]))).toBeNull();
    expect(find(makeWorn([100 / 255, 101 / 255, 103 / 255]))).not.toBeNull();
  });

  it('is null for an invisible or unreadable map, and if the slot does not keep it', () => {
    expect(find(makeWorn(null))).toBeNull();
    expect(find(makeWorn([0, 0.5, 1], [0, 0, 0], 0))).toBeNull();
    expect(find(makeWorn([0, 0.5, 1], [0, 0, 0], 1, 0))).toBeNull();
    expect(find(makeSurvey(['seat'], [[{ material: 0 }]]))).toBeNull();
    expect(find(makeWorn([0, 0.5, 1]), { wear: false })).toBeNull();
  });

  it('is kept by slots older than the setting', () => {
    const { wear: _, ...old } = KEEP_ALL;
    const survey = makeWorn([0, 0.5, 1]);
    expect(findWear(makeSlot('seat', { keep: old as typeof KEEP_ALL }), survey.primitives[0]!, survey)).not.toBeNull();
  });
});

describe('a finish over wear', () => {
  // glTF 2.0 §3.9.2: the visible roughness is factor × texel, so its mean is factor × mean.
  it('has its own roughness in the mean, as far as a factor allows', () => {
    const { factor, demand } = planWear(resolve('SATIN'), { mean: 0.6, fullMetal: false })!;
    expect(factor * 0.6).toBeCloseTo(0.3, 12);
    expect(demand).toBe(factor);
    const beyond = planWear(resolve('MATT'), { mean: 0.6, fullMetal: false })!;
    expect(beyond.factor).toBe(1);
    expect(beyond.demand).toBeCloseTo(1.5, 12);
  });

  it('replaces the map if it has its own, or if it is a metal and the map reduces metalness', () => {
    expect(planWear(resolve('OWN'), { mean: 0.6, fullMetal: true })).toBeNull();
    expect(planWear(resolve('STEEL'), { mean: 0.6, fullMetal: false })).toBeNull();
    expect(planWear(resolve('STEEL'), { mean: 0.6, fullMetal: true })!.factor).toBeCloseTo(0.5, 12);
  });

  it('is reported by the smoothest of the maps if it is out of reach', () => {
    const wears = [0.8, 0.6].map((mean) => ({ mean, fullMetal: false }));
    const [finding, ...more] = judgeWear(makeSlot('seat'), resolve('MATT'), wears);
    expect(more).toEqual([]);
    expect(finding).toMatchObject({ code: 'out-of-reach', severity: 'warning', where: 'slot seat' });
    expect((finding!.seen as { roughnessFactor: number }).roughnessFactor).toBeCloseTo(1.5, 12);
    expect(finding!.message).toContain('1.50, but 1 is the maximum');
    expect(judgeWear(makeSlot('seat'), resolve('SATIN'), wears)).toEqual([]);
    expect(judgeWear(makeSlot('seat'), resolve('OWN'), wears)).toEqual([]);
    expect(judgeWear(makeSlot('seat'), resolve('STEEL'), wears)).toMatchObject([
      { code: 'wear-dropped', severity: 'note' },
    ]);
  });

  it('is reported once per slot and finish of a schedule', () => {
    const schedule: Schedule = {
      default: '0',
      variants: ['MATT', 'SATIN', 'OWN', 'STEEL', 'MATT'].map((finish, i) => ({
        code: `${i}`,
        name: `Variant ${i}`,
        choices: { seat: finish },
      })),
    };
    const list = (given: Parameters<typeof makeSlot>[1] = {}) =>
      listOutOfReach(makeWorn([0.2, 0.6, 0.9]), [makeSlot('seat', given)], schedule, resolve).map(({ code, place }) => [
        code,
        place,
      ]);
    expect(list()).toEqual([
      ['out-of-reach', '“seat” in MATT'],
      ['wear-dropped', '“seat” in STEEL'],
    ]);
    expect(list({ fixed: true })).toEqual([]);
    expect(list({ keep: { ...KEEP_ALL, wear: false } })).toEqual([]);
  });
});

/** IEC 61966-2-1, decoding, repeated here. */
const linear = (code: number) => {
  const value = code / 255;
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
};

/** A map with these counts of each code, the same in red, green and blue. */
const makeDetail = (texels: Readonly<Record<number, number>>): NeutralDetail => {
  const count = Array.from({ length: 256 }, (_, code) => texels[code] ?? 0);
  const all = count.reduce((sum, n) => sum + n, 0);
  const mean = count.reduce((sum, n, code) => sum + n * linear(code), 0) / all;
  return { mean, codes: [count, count, count] };
};
const colour = (...baseColour: [number, number, number]) => ({ baseColour });

describe('a colour over a neutral detail map', () => {
  // glTF 2.0 §3.9.2: the visible colour is factor × texel, in linear light, so its mean is factor × mean.
  it('is reached by target ÷ mean', () => {
    const detail = makeDetail({ 255: 2, 188: 2 });
    const { factor, contrast, mean } = divideByDetailMean(colour(0.3, 0.2, 0.05), detail);
    [0.3, 0.2, 0.05].forEach((value, c) => {
      expect(factor[c]).toBeCloseTo(value / detail.mean, 12);
      expect(mean[c]).toBeCloseTo(value, 12);
    });
    expect(contrast).toBeNull();
  });

  it('is reached with less contrast if the factor would exceed 1', () => {
    // Texels of 1 and 0.2 in linear light, mean 0.6. A target of 0.8 needs texels of at most 1 and 0.6: half the
    // contrast.
    const { factor, contrast, mean } = divideByDetailMean(colour(0.8, 0.2, 0.1), makeDetail({ 255: 500, 124: 500 }));
    expect(contrast).toBeLessThan(1);
    expect(contrast).toBeGreaterThanOrEqual(0.3);
    expect(Math.max(...factor)).toBeLessThanOrEqual(1);
    [0.8, 0.2, 0.1].forEach((value, c) => {
      expect(mean[c]).toBeCloseTo(value, 9);
    });
  });

  it('is reached as far as a factor allows if the map cannot be read', () => {
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
      // For an unreadable map, only the factor can help.
      neutralDetail: mean === null ? null : { mean, codes: null },
    }));
    return { ...survey, materials };
  };
  const list = (mean: number | null, given: Parameters<typeof makeSlot>[1] = {}) =>
    listOutOfReach(makeDetailed(mean), [makeSlot('seat', given)], schedule, resolve);

  it('are reported once per slot and finish, with the colour that can be reached', () => {
    const [finding, ...more] = list(0.5);
    expect(more).toEqual([]);
    expect(finding).toMatchObject({ code: 'out-of-reach', severity: 'warning', where: 'slot seat' });
    const seen = finding!.seen as { finish: string; hex: string; deltaE: number };
    expect(seen.finish).toBe('SNOW');
    // Encoding 0.5 gives 188 (IEC 61966-2-1).
    expect(seen.hex).toBe('#bcbcbc');
    expect(finding!.message).toMatch(/Lighten the map, or set the slot not to keep its detail/);
    expect(finding!.message).toContain(seen.deltaE.toFixed(1));
  });

  it('are none if the map is light enough, is no detail map, is not kept, or if the slot is fixed', () => {
    expect(list(0.95)).toEqual([]);
    expect(list(null)).toEqual([]);
    expect(list(0.5, { keep: { ...KEEP_ALL, detail: false } })).toEqual([]);
    expect(list(0.5, { fixed: true })).toEqual([]);
  });

  it('are found in slots older than the detail setting', () => {
    const { detail: _, ...old } = KEEP_ALL;
    expect(list(0.5, { keep: old as typeof KEEP_ALL })).toHaveLength(1);
  });
});
