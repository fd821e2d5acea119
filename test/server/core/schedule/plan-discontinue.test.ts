import { describe, expect, it } from 'vitest';
import type { Line, Rule } from '../../../../server/core/line/line.ts';
import { type DiscontinueProduct, planDiscontinue } from '../../../../server/core/schedule/plan-discontinue.ts';
import type { Schedule } from '../../../../server/core/schedule/schedule.ts';
import { finish as finishNow } from '../../../../server/core/slices.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';
import { makeSlot } from '../../../support/make-survey.ts';
import { expectRefusal } from '../../../support/refusal.ts';
import { makeRuledLine, makeRuledSlots, RULED_FINISHES } from '../../../support/rules.ts';

type Row = [code: string, seat: string, piping: string, name?: string];
const scheduleOf = (rows: Row[], byDefault = rows[0]![0]): Schedule => ({
  default: byDefault,
  variants: rows.map(([code, seat, piping, name = `Row ${code}`]) => ({ code, name, choices: { seat, piping } })),
});
const ROWS: Row[] = [
  ['V1', 'LOOP', 'FELT', 'Name of LOOP, piped'],
  ['V2', 'FELT', 'FELT'],
  ['V3', 'HIDE', 'LOOP'],
];

function productOf(schedule: Schedule | null, given: Partial<DiscontinueProduct> = {}): DiscontinueProduct {
  return { product: 'P', slots: makeRuledSlots('seat', 'piping'), schedule, delivered: [], last: null, ...given };
}

function plan(
  products: DiscontinueProduct[],
  finish: string,
  replacedBy: string | null,
  { rules = [], line = makeRuledLine(rules) }: { rules?: Rule[]; line?: Line } = {},
) {
  return finishNow(planDiscontinue({ line, products, finishes: byFoldedCode(RULED_FINISHES), finish, replacedBy }));
}

// From the issue: “variants withdrawn or re-minted under new codes (a code never comes to mean another cloth), a
// default that is hit moves, deliveries and pictures due are listed”
describe('a finish that is discontinued without a replacement', () => {
  it('withdraws its variants, and the default moves to the first remaining row', () => {
    const { range, products } = plan([productOf(scheduleOf(ROWS))], 'loop', null);
    expect(range).toEqual({
      from: { finish: 'LOOP', grade: 'A', status: 'current' },
      to: { finish: 'LOOP', grade: 'A', status: 'discontinued' },
    });
    expect(products).toHaveLength(1);
    expect(products[0]).toMatchObject({
      withdrawn: [
        { code: 'V1', reason: 'no-replacement' },
        { code: 'V3', reason: 'no-replacement' },
      ],
      reminted: [],
      default: { from: 'V1', to: 'V2' },
      schedule: { default: 'V2', variants: [{ code: 'V2' }] },
    });
  });

  it('is refused where no variant would remain', async () => {
    const problem = await expectRefusal(
      () => plan([productOf(scheduleOf([['V1', 'LOOP', 'FELT']]))], 'LOOP', null),
      'no-variant-left',
    );
    expect(problem.more.findings).toMatchObject([{ product: 'P', withdrawn: [{ code: 'V1' }] }]);
  });

  it('does not change what does not use it: other products, fixed slots, slots that the model lost', () => {
    const slots = [makeSlot('seat', { position: 'seat', fixed: true }), makeSlot('piping', { primitives: [] })];
    const { products } = plan(
      [
        productOf(scheduleOf([['V2', 'FELT', 'FELT']])),
        productOf(scheduleOf(ROWS), { product: 'Q', slots }),
        productOf(null, { product: 'R' }),
      ],
      'LOOP',
      null,
    );
    expect(products).toEqual([]);
  });
});

describe('a finish that another one replaces', () => {
  it('makes its variants again, in the same places, under codes that were never used', () => {
    const delivered = ['V1', 'V1-2', 'old'];
    const { range, products, picturesDue } = plan([productOf(scheduleOf(ROWS), { delivered })], 'LOOP', 'hide');
    expect(range.to).toMatchObject({ status: 'discontinued', replacedBy: 'HIDE' });
    const [product] = products;
    expect(product!.withdrawn).toEqual([]);
    expect(product!.reminted).toEqual([
      { from: 'V1', to: 'V1-3', name: 'Name of HIDE, piped', choices: { seat: 'HIDE', piping: 'FELT' } },
      { from: 'V3', to: 'V3-2', name: 'Name of HIDE / Name of HIDE', choices: { seat: 'HIDE', piping: 'HIDE' } },
    ]);
    expect(product!.schedule.variants.map(({ code }) => code)).toEqual(['V1-3', 'V2', 'V3-2']);
    expect(product!.default).toEqual({ from: 'V1', to: 'V1-3' });
    expect(picturesDue).toEqual([{ product: 'P', variants: ['V1-3', 'V3-2'] }]);
  });

  // GS1 General Specifications, GTIN management: a change that buyers see makes another trade item (from memory)
  it('never moves the number of a variant to another finish', () => {
    const standing = scheduleOf(ROWS);
    const gtins = ['06291041500213', '08904000210037'];
    const variants = standing.variants.map((row, i) => (gtins[i] ? { ...row, gtin: gtins[i] } : row));
    const { products } = plan([productOf({ ...standing, variants })], 'LOOP', 'hide');
    expect(products[0]!.schedule.variants.map(({ gtin }) => gtin)).toEqual([undefined, '08904000210037', undefined]);
  });

  it('never moves a code, or the name of a row, to another finish', () => {
    const given = scheduleOf(ROWS);
    const before = new Map(given.variants.map(({ code, choices }) => [code, choices]));
    const names = new Map(given.variants.map(({ name, choices }) => [name, choices]));
    for (const replacedBy of ['FELT', 'HIDE', null]) {
      const { schedule } = plan([productOf(given)], 'LOOP', replacedBy).products[0]!;
      for (const { code, name, choices } of schedule.variants) {
        if (before.has(code)) expect(choices).toEqual(before.get(code));
        if (names.has(name)) expect(choices).toEqual(names.get(name));
        expect(Object.values(choices)).not.toContain('LOOP');
      }
      expect(schedule.variants.map(({ code }) => code)).toContain(schedule.default);
    }
  });

  it('withdraws a variant that would equal an existing one, and the default moves there', () => {
    const { products } = plan([productOf(scheduleOf(ROWS))], 'LOOP', 'FELT');
    expect(products[0]).toMatchObject({
      withdrawn: [{ code: 'V1', reason: 'stands-already' }],
      reminted: [{ from: 'V3', to: 'V3-2' }],
      default: { from: 'V1', to: 'V2' },
    });
  });

  it('withdraws a variant where the replacement is not an option', () => {
    const whole = makeRuledLine([]);
    const line: Line = {
      ...whole,
      positions: [{ position: 'seat', label: 'Seat', options: { finishes: ['LOOP', 'FELT'] } }],
    };
    const { products } = plan([productOf(scheduleOf(ROWS))], 'LOOP', 'HIDE', { line });
    expect(products[0]).toMatchObject({
      withdrawn: [{ code: 'V1', reason: 'not-an-option', detail: 'HIDE is not among the options of “seat”.' }],
      reminted: [{ from: 'V3', to: 'V3-2' }],
    });
  });

  it('withdraws a variant where a rule forbids the result, unless the rule was broken before', () => {
    const rules: Rule[] = [
      { when: { position: 'seat', finish: 'HIDE' }, excludes: { position: 'piping', finish: 'FELT' } },
      { when: { position: 'seat', finish: 'HIDE' }, excludes: { position: 'piping', tag: 'cloth' } },
    ];
    const { products } = plan([productOf(scheduleOf(ROWS))], 'LOOP', 'HIDE', { rules });
    expect(products[0]).toMatchObject({
      withdrawn: [{ code: 'V1', reason: 'rule' }],
      reminted: [{ from: 'V3', to: 'V3-2', choices: { seat: 'HIDE', piping: 'HIDE' } }],
    });
  });

  it('changes companions and same-as slots too', () => {
    const line = makeRuledLine([
      { when: { position: 'seat', finish: 'HIDE' }, sameAs: { position: 'piping' } },
      { when: { position: 'legs' }, companion: { position: 'cord' } },
    ]);
    const slots = makeRuledSlots('legs', 'cord');
    const schedule: Schedule = {
      default: 'A',
      variants: [
        { code: 'A', name: 'A', choices: { legs: 'OAK', cord: 'FLAX' } },
        { code: 'B', name: 'B', choices: { legs: 'BRASS', cord: 'FLAX' } },
      ],
    };
    const cord = plan([productOf(schedule, { slots })], 'OAK', 'BLACK', { line });
    expect(cord.products[0]!.reminted).toMatchObject([
      { choices: { legs: 'BLACK', cord: 'RAVEN' }, name: 'Name of BLACK / Name of RAVEN' },
    ]);
    const same = plan([productOf(scheduleOf([['V1', 'LOOP', 'FELT'], ...ROWS.slice(1)]))], 'LOOP', 'HIDE', { line });
    expect(same.products[0]!.reminted).toMatchObject([{ choices: { seat: 'HIDE', piping: 'HIDE' } }]);
    expect(same.products[0]!.withdrawn).toMatchObject([{ code: 'V3', reason: 'stands-already' }]);
  });

  it('names deliveries that are due: of changed schedules, and those that still contain the finish', () => {
    const { deliveriesDue } = plan(
      [
        productOf(scheduleOf(ROWS), { last: { delivery: 4, finishes: ['FELT'] } }),
        productOf(scheduleOf(ROWS), { product: 'NEVER' }),
        productOf(scheduleOf([['X', 'FELT', 'FELT']]), { product: 'HELD', last: { delivery: 2, finishes: ['loop'] } }),
        productOf(scheduleOf([['X', 'FELT', 'FELT']]), { product: 'FREE', last: { delivery: 1, finishes: ['FELT'] } }),
      ],
      'LOOP',
      'HIDE',
    );
    expect(deliveriesDue).toEqual([
      { product: 'P', delivery: 4 },
      { product: 'HELD', delivery: 2 },
    ]);
  });

  it('is refused when one of the two is not in the range, or is being discontinued itself', async () => {
    const range = makeRuledLine([]).range.filter(({ finish }) => finish !== 'FLAX');
    const line = makeRuledLine([], {
      range: range.map((entry) => (entry.finish === 'FELT' ? { ...entry, status: 'discontinued' as const } : entry)),
    });
    const products = [productOf(scheduleOf(ROWS))];
    expect((await expectRefusal(() => plan(products, 'FLAX', null, { line }), 'not-in-range')).more.where).toBe(
      '/finish',
    );
    expect((await expectRefusal(() => plan(products, 'LOOP', 'FLAX', { line }), 'not-in-range')).more.where).toBe(
      '/replacedBy',
    );
    await expectRefusal(() => plan(products, 'LOOP', 'FELT', { line }), 'invalid-field');
    await expectRefusal(() => plan(products, 'LOOP', 'loop', { line }), 'invalid-field');
  });
});

it('keeps long names within 120 characters, and keeps characters whole', () => {
  const long = `Name of LOOP ${'x'.repeat(100)}`;
  const finishes = byFoldedCode([...RULED_FINISHES, makeFinish('SOFA', { name: '\u{1f6cb}'.repeat(60) })]);
  const whole = makeRuledLine([]);
  const line: Line = {
    ...whole,
    positions: [],
    range: [...whole.range, { finish: 'SOFA', status: 'current' }],
  };
  const products = [productOf(scheduleOf([['V1', 'LOOP', 'FELT', long]]))];
  const planned = finishNow(planDiscontinue({ line, products, finishes, finish: 'LOOP', replacedBy: 'SOFA' }));
  const { reminted } = planned.products[0]!;
  expect([...reminted[0]!.name].length).toBeLessThanOrEqual(120);
  expect(reminted[0]!.name).not.toMatch(/\p{Surrogate}/u);
});
