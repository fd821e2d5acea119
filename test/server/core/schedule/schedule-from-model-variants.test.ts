import { describe, expect, it } from 'vitest';
import { planScheduleFromVariants } from '../../../../server/core/schedule/schedule-from-model-variants.ts';

const FINISHES = new Map([
  [0, 'OAK'],
  [1, 'ASH'],
  [2, 'ELM'],
]);

/** A part whose slot is `m` and its material; own material first, then one for every variant. */
const part = (material: number, own: number | null, ...byVariant: (number | null)[]) => ({
  material,
  own,
  byVariant,
  varies: byVariant.some((worn) => worn !== own),
});

const plan = (variants: readonly string[], ...parts: ReturnType<typeof part>[]) =>
  planScheduleFromVariants(variants, parts, ({ material }) => `m${material}`, FINISHES);

describe('the schedule of a model’s own variants', () => {
  it('has a row for each, and the default is the one that the model shows before a choice', () => {
    const schedule = plan(['Light', 'Dark'], part(0, 1, 0, 1), part(3, 2, 2, 2));
    expect(schedule).toEqual({
      default: 'Dark',
      variants: [
        { code: 'Light', name: 'Light', choices: { m0: 'OAK' } },
        { code: 'Dark', name: 'Dark', choices: { m0: 'ASH' } },
      ],
    });
  });

  it('has an additional first row where no variant looks like that', () => {
    const schedule = plan(['Light', 'As supplied'], part(0, 0, 0, 1), part(1, 1, 2, 1));
    expect(schedule.default).toBe(schedule.variants[0]!.code);
    expect(schedule.variants.map(({ name, choices }) => [name, choices])).toEqual([
      ['As supplied 2', { m0: 'OAK', m1: 'ASH' }],
      ['Light', { m0: 'OAK', m1: 'ELM' }],
      ['As supplied', { m0: 'ASH', m1: 'ASH' }],
    ]);
  });

  it('leaves the cell empty for glTF’s default material', () => {
    expect(plan(['A', 'B'], part(0, null, 1, null)).variants.map(({ choices }) => choices)).toEqual([
      { m0: 'ASH' },
      {},
    ]);
  });

  it('gives every row its own name and code', () => {
    const { variants } = plan(['', 'Oak', 'OAK', ' Oak ', 'current', '木'], part(0, 0, 0, 1, 1, 1, 1, 1));
    expect(variants.map(({ name }) => name)).toEqual(['Variant 1', 'Oak', 'OAK 2', 'Oak 3', 'current', '木']);
    expect(variants.map(({ code }) => code)).toEqual(['Variant-1', 'Oak', 'OAK-2', 'Oak-3', 'current-2', 'variant']);
  });
});
