import { describe, expect, it } from 'vitest';
import type { Finish } from '../../../../server/core/finish/finish.ts';
import { resolveFinish } from '../../../../server/core/finish/resolve-finish.ts';
import {
  type LayerPlan,
  type LayerQuestion,
  planLayers,
  type SuppliedCover,
} from '../../../../server/core/picture/plan-layers.ts';
import { deriveSlots, KEEP_ALL, type Slot } from '../../../../server/core/product/slot.ts';
import type { Survey, SurveyedMaterial } from '../../../../server/core/product/survey.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { makeSurvey } from '../../../support/make-survey.ts';

const survey = makeSurvey(['seat', 'legs', 'glides'], [[{ material: 0 }], [{ material: 1 }], [{ material: 2 }]]);
const [seat, legs, glides] = deriveSlots(survey) as [Slot, Slot, Slot];
const resolve = (code: string, given: Partial<Finish> = {}) => resolveFinish(makeFinish(code, given), null);
const question = (more: Partial<LayerQuestion> = {}): LayerQuestion => ({
  survey,
  mount: 'floor',
  slotFinishes: [
    { slot: seat, finish: resolve('BLUE') },
    { slot: legs, finish: resolve('OAK', { family: 'wood' }) },
  ],
  coverOf: () => undefined,
  ...more,
});
const withMaterial = (index: number, change: Partial<SurveyedMaterial>): Survey => ({
  ...survey,
  materials: survey.materials.map((material) => (material.index === index ? { ...material, ...change } : material)),
});
const reasonOf = (plan: LayerPlan) => (plan.way === 'direct' ? plan.reason : null);
const keysOf = (plan: LayerPlan) =>
  plan.way === 'layers' ? plan.layers.map(({ shows, determines }) => JSON.stringify([shows, determines])) : [];

describe('the layers of a combination', () => {
  it('are one for each slot with a finish, one for the rest, and one for the ground', () => {
    const plan = planLayers(question());
    expect(plan.way === 'layers' && plan.layers.map(({ shows }) => shows)).toEqual([
      { slot: 'seat' },
      { slot: 'legs' },
      'rest',
      'ground',
    ]);
  });

  it('have no rest if every drawn part has a finish, and no ground under a ceiling', () => {
    const slotFinishes = [...question().slotFinishes, { slot: glides, finish: resolve('BLACK') }];
    const plan = planLayers(question({ slotFinishes, mount: 'ceiling' }));
    expect(plan.way === 'layers' && plan.layers.map(({ shows }) => shows)).toEqual([
      { slot: 'seat' },
      { slot: 'legs' },
      { slot: 'glides' },
    ]);
  });

  it('change only with their own finish, and not with its name', () => {
    const before = keysOf(planLayers(question()));
    const [blue, oak] = question().slotFinishes;
    const changed = keysOf(
      planLayers(question({ slotFinishes: [{ slot: seat, finish: resolve('BLUE', { roughness: 0.31 }) }, oak!] })),
    );
    expect(before.map((key, index) => key === changed[index])).toEqual([false, true, true, true]);
    const renamed = { slot: seat, finish: resolve('NAVY', { name: 'Tarn, new name' }) };
    expect(keysOf(planLayers(question({ slotFinishes: [renamed, oak!] })))).toEqual(before);
    const turned = { ...blue!, slot: { ...seat, grainDegrees: 90 } };
    expect(keysOf(planLayers(question({ slotFinishes: [turned, oak!] }))).map((key, i) => key === before[i])).toEqual([
      false,
      true,
      true,
      true,
    ]);
  });

  it('change if the holes of a held-out part change with its finish', () => {
    const cane = withMaterial(0, { alphaMode: 'MASK' });
    const [, oak] = question().slotFinishes;
    const [legsBeside] = keysOf(planLayers(question({ survey: cane, slotFinishes: [oak!] })));
    const [, legsUnder] = keysOf(planLayers(question({ survey: cane })));
    expect(legsBeside).not.toBe(legsUnder);
    // The coverage of a solid part is the same in any finish.
    expect(keysOf(planLayers(question({ slotFinishes: [oak!] })))[0]).toBe(keysOf(planLayers(question()))[1]);
  });
});

describe('a combination is rendered directly', () => {
  it('if light passes through a finish, or may pass through a part that keeps its own material', () => {
    const glass = { slot: seat, finish: resolve('GLASS', { family: 'glass', transmission: 0.9 }) };
    expect(reasonOf(planLayers(question({ slotFinishes: [glass] })))).toBe('transmission');
    const lamp = { ...survey, extensions: { ...survey.extensions, used: ['KHR_materials_transmission'] } };
    expect(reasonOf(planLayers(question({ survey: lamp })))).toBe('transmission');
    const all = [...question().slotFinishes, { slot: glides, finish: resolve('BLACK') }];
    expect(reasonOf(planLayers(question({ survey: lamp, slotFinishes: all })))).toBeNull();
  });

  it('if a blended part without a colour map gets a finish with one, because its alpha would change', () => {
    const cloth = { slot: seat, finish: resolve('CLOTH', { family: 'textile', maps: { colour: 'ab'.repeat(32) } }) };
    const veil = withMaterial(0, { alphaMode: 'BLEND' });
    expect(reasonOf(planLayers(question({ survey: veil, slotFinishes: [cloth] })))).toBe('coverage');
    expect(reasonOf(planLayers(question({ slotFinishes: [cloth] })))).toBeNull();
    const solid = { ...cloth, slot: { ...seat, keep: { ...KEEP_ALL, alpha: false } } };
    expect(reasonOf(planLayers(question({ survey: veil, slotFinishes: [solid] })))).toBeNull();
  });

  it('if the model draws lines or points', () => {
    const faults = [{ fault: 'points-or-lines' as const, count: 1, where: '/meshes/3' }];
    expect(reasonOf(planLayers(question({ survey: { ...survey, faults } })))).toBe('lines');
  });

  const cover: SuppliedCover = { alphaMode: 'OPAQUE', doubleSided: false, transmits: false };
  it.each([
    ['a plain one', cover, {}, null],
    ['a transparent one', { ...cover, transmits: true }, {}, 'transmission'],
    ['one with holes', { ...cover, alphaMode: 'MASK' as const }, {}, 'coverage'],
    ['a double-sided one', { ...cover, doubleSided: true }, {}, 'coverage'],
    ['one on a part with holes, which it closes', cover, { alphaMode: 'MASK' as const }, 'coverage'],
    ['an unknown one', undefined, {}, 'coverage'],
  ])('or not, depending on the coverage of a supplied material: %s', (_, known, part, reason) => {
    const supplied = { slot: seat, finish: { ...resolve('GIVEN'), supplied: 'cd'.repeat(32) } };
    const plan = planLayers(
      question({ survey: withMaterial(0, part), slotFinishes: [supplied], coverOf: () => known }),
    );
    expect(reasonOf(plan)).toBe(reason);
  });
});
