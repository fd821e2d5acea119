import { afterEach, describe, expect, it, vi } from 'vitest';
import type { RangeEntry, Rule } from '../../server/core/line/line.ts';
import { readRules } from '../../server/core/line/rules.ts';
import type { FinishAnswer } from '../../server/http/contracts/finish.ts';
import type { DiscontinueAnswer, WhereUsedAnswer } from '../../server/http/contracts/line.ts';
import type { ProductAnswer } from '../../server/http/contracts/product.ts';
import { changeEntries, changeEntry } from '../../web/pages/line/line-changes.ts';
import {
  describeDiscontinue,
  describeRange,
  describeStatus,
  describeUses,
  groupRange,
} from '../../web/pages/line/range/describe-range.ts';
import {
  countCompanions,
  createForm,
  findProblem,
  listChoices,
  movePlace,
  nameBy,
  readRuleIndex,
  toForm,
  toGivenRule,
} from '../../web/pages/line/rules/rule-form.ts';
import { createEffectsModel, replaceRule } from '../../web/pages/line/rules/rules-model.ts';
import { byFoldedCode } from '../support/make-finish.ts';
import { makeRuledLine, RULED_FINISHES } from '../support/rules.ts';

// How a line is shown and edited. The wording is a matter of taste; these tests check that the table shows the whole range,
// and that the form of a rule sends what it shows.

const finishes = byFoldedCode(RULED_FINISHES) as unknown as ReadonlyMap<string, FinishAnswer>;
const line = makeRuledLine([]);

describe('the range as a table', () => {
  const entry = (finish: string, grade?: string): RangeEntry => ({
    finish,
    status: 'current',
    ...(grade && { grade }),
  });
  const library = new Map(
    [
      { finish: 'A1', name: 'Ash', family: 'textile', article: 'felt' },
      { finish: 'A2', name: 'Oak', family: 'textile', article: 'FELT' },
      { finish: 'B1', name: 'Brass', family: 'bare-metal' },
    ].map((finish) => [finish.finish, finish as unknown as FinishAnswer]),
  );
  const articles = [{ article: 'Felt', name: 'Felted wool', family: 'textile', composition: 'Wool' } as never];

  it('has a row for each article, one for finishes without, and a column for each grade', () => {
    const range = [entry('A1', '10'), entry('B1'), entry('A2', '2'), entry('GONE', '2')];
    const sheet = groupRange(range, library, articles);
    expect(sheet.grades).toEqual(['2', '10', null]);
    expect(
      sheet.rows.map(({ title, note, cells }) => [
        title,
        note,
        cells.map((cell) => cell.map(({ name }) => name).join()),
      ]),
    ).toEqual([
      ['Felted wool', 'Wool', ['Oak', 'Ash', '']],
      ['Bare metal', 'No article', ['', '', 'Brass']],
      ['Not in the library', 'No article', ['GONE', '', '']],
    ]);
    expect(sheet.rows.flatMap(({ items }) => items)).toHaveLength(range.length);
    expect(groupRange([entry('B1', 'A')], library, articles).grades).toEqual(['A']);
  });

  it('describes the status of each finish', () => {
    const describeEntry = (given: Partial<RangeEntry>) => describeStatus({ finish: 'A', status: 'current', ...given });
    expect(describeEntry({})).toBeNull();
    expect(describeEntry({ status: 'planned' })).toBe('planned');
    expect(describeEntry({ status: 'phase-out' })).toBe('in phase-out');
    expect(describeEntry({ status: 'phase-out', lastOrder: '2039-03-31', replacedBy: 'B' })).toBe(
      'until 2039-03-31, then B',
    );
    expect(describeEntry({ status: 'discontinued', replacedBy: 'B' })).toBe('discontinued, replaced by B');
    expect(describeRange([entry('A'), entry('B'), { finish: 'C', status: 'phase-out' }])).toBe(
      '3 finishes: 2 current, 1 in phase-out.',
    );
  });

  it('changes by finish or by article, and drops the date of a finish that stays on sale', () => {
    const leaving = changeEntry(line, 'OAK', { status: 'phase-out' });
    const dated = changeEntry(leaving, 'OAK', { lastOrder: '2039-03-31', replacedBy: 'BRASS' });
    const oak = (from: typeof line) => from.range.find(({ finish }) => finish === 'OAK');
    expect(oak(dated)).toEqual({
      finish: 'OAK',
      grade: 'A',
      status: 'phase-out',
      lastOrder: '2039-03-31',
      replacedBy: 'BRASS',
    });
    expect(oak(changeEntry(dated, 'OAK', { lastOrder: '' }))).not.toHaveProperty('lastOrder');
    expect(oak(changeEntry(dated, 'OAK', { status: 'current' }))).toEqual({
      finish: 'OAK',
      grade: 'A',
      status: 'current',
    });
    const moved = changeEntries(line, ['FELT', 'LOOP'], { grade: 'B' }).range;
    expect(moved.filter(({ grade }) => grade === 'B').map(({ finish }) => finish)).toEqual(['FELT', 'LOOP']);
  });
});

describe('the form of a rule', () => {
  const RULES: readonly Rule[] = [
    { when: { position: 'seat', family: 'leather' }, sameAs: { position: 'piping' } },
    { when: { position: 'seat', tag: 'thick' }, excludes: { position: 'legs', finish: 'BRASS' } },
    { when: { position: 'seat', grade: 'C' }, requires: { position: 'legs', family: 'wood' } },
    { when: { position: 'legs' }, companion: { position: 'cord' } },
  ];

  it('is sent unchanged, for every kind of rule', () => {
    expect(readRules(RULES.map(toForm).map(toGivenRule), line.positions, finishes)).toEqual(RULES);
  });

  it('offers exactly the finishes that the position allows', () => {
    expect(listChoices(line, 'seat', finishes)).toEqual({
      finish: ['FELT', 'LOOP', 'HIDE'],
      family: ['textile', 'leather'],
      tag: ['cloth', 'thick'],
      grade: ['A', 'C'],
    });
  });

  it('chooses a value of the new position, or of the new way of naming', () => {
    const when = toForm(RULES[0]!).when;
    expect(movePlace(when, 'piping', line, finishes)).toEqual({ ...when, position: 'piping' });
    expect(movePlace(when, 'legs', line, finishes)).toEqual({ position: 'legs', way: 'family', value: 'wood' });
    expect(nameBy(when, 'tag', listChoices(line, 'seat', finishes))).toMatchObject({ way: 'tag', value: 'cloth' });
    expect(nameBy(when, 'any', listChoices(line, 'seat', finishes))).toMatchObject({ way: 'any', value: '' });
  });

  it('shows the message of the service while the rule is invalid', () => {
    const form = createForm(line, finishes);
    expect(findProblem(form, line, finishes)).toBeNull();
    expect(form.target.position).toBe('piping');
    expect(findProblem({ ...form, target: form.when }, line, finishes)).toContain('to itself');
    expect(findProblem({ ...form, target: { ...form.target, value: '' } }, line, finishes)).toContain(
      'does not say which finishes',
    );
    const lost = { ...form, when: { position: 'arm', way: 'any' as const, value: '' } };
    expect(findProblem(lost, line, finishes)).toContain('no position “arm”');
  });

  it('counts the finishes that have a companion', () => {
    expect(countCompanions(toForm(RULES[3]!), line, finishes, [])).toBe(1);
    expect(countCompanions({ ...toForm(RULES[3]!), target: toForm(RULES[0]!).target }, line, finishes, [])).toBe(0);
    expect(countCompanions(toForm(RULES[0]!), line, finishes, [])).toBeNull();
  });

  it('is found by the path of an error', () => {
    expect(readRuleIndex('/rules/12/when/finish')).toBe(12);
    expect(readRuleIndex('/rules/3')).toBe(3);
    for (const where of [undefined, '', '/range/3', '/rules', '/rules/x']) expect(readRuleIndex(where)).toBeNull();
  });
});

describe('a discontinued finish', () => {
  const answer: DiscontinueAnswer = {
    line: 'L',
    finish: 'OAK',
    replacedBy: 'BRASS',
    preview: true,
    range: { from: { finish: 'OAK', status: 'current' }, to: { finish: 'OAK', status: 'discontinued' } },
    products: [
      {
        product: 'ONE',
        reminted: [{ from: 'A', to: 'A-2', name: 'Brass', choices: {} }],
        withdrawn: [{ code: 'B', name: 'Oak', reason: 'rule', detail: 'It breaks a rule.' }],
        default: { from: 'A', to: 'A-2' },
        variants: 1,
      },
    ],
    deliveriesDue: [{ product: 'ONE', delivery: 3 }],
    picturesDue: [{ product: 'ONE', variants: ['A-2'] }],
  };

  it('is described before and after', () => {
    const before = describeDiscontinue(answer);
    expect(before.lead).toBe('OAK will be discontinued and replaced by BRASS.');
    expect(before.products[0]).toMatchObject({
      product: 'ONE',
      reminted: [{ from: 'A', to: 'A-2' }],
      withdrawn: [{ code: 'B', detail: 'It breaks a rule.' }],
      summary: '1 variant remains. The default variant will change from A to A-2.',
    });
    expect(before.due).toHaveLength(2);
    const nothing = describeDiscontinue({
      ...answer,
      preview: false,
      replacedBy: null,
      products: [],
      deliveriesDue: [],
      picturesDue: [],
    });
    expect(nothing).toEqual({
      lead: 'OAK is discontinued without a replacement. No schedule uses it.',
      products: [],
      due: [],
    });
  });

  it('has all its uses listed', () => {
    const uses: WhereUsedAnswer = {
      finish: 'OAK',
      lines: [
        { line: 'L', name: 'Line', status: 'current', positions: ['legs'], rules: ['a rule'], replaces: ['ASH'] },
        { line: 'M', name: 'Moor', status: 'current', positions: [], rules: [], replaces: [] },
      ],
      schedules: [{ product: 'ONE', variants: 2 }],
      deliveries: [{ product: 'ONE', delivery: 1 }],
      companionOf: [{ article: 'felt', positions: ['cord'] }],
    };
    const said = describeUses(uses, 'L').join(' ');
    for (const part of [
      'ONE (2 variants)',
      'ONE no. 1',
      'options of legs',
      'a rule',
      'Replaces ASH',
      'line Moor',
      'felt (on cord)',
    ])
      expect(said).toContain(part);
    expect(describeUses({ finish: 'X', lines: [], schedules: [], deliveries: [], companionOf: [] }, 'L')).toEqual([
      'Not used in any schedule.',
    ]);
  });
});

describe('a rule that replaces another', () => {
  const [first, second, third] = ['a', 'b', 'c'].map(
    (position): Rule => ({ when: { position }, sameAs: { position: 'z' } }),
  ) as [Rule, Rule, Rule];

  it('goes to the current place of the other, or to the end if it is new', () => {
    expect(replaceRule([second, first], first, [third])).toEqual([second, third]);
    expect(replaceRule([second, first], first, [])).toEqual([second]);
    expect(replaceRule([first], undefined, [third])).toEqual([first, third]);
  });

  it('replaces no other rule', () => {
    expect(() => replaceRule([second], first, [third])).toThrow('Someone else');
  });
});

describe('the effects of a change', () => {
  afterEach(() => vi.unstubAllGlobals());

  it('keep the count before the changes, when the next change comes while the service still counts', async () => {
    let count = '9';
    const held: (() => void)[] = [];
    let hold = false;
    vi.stubGlobal('fetch', async (path: string) => {
      if (hold) await new Promise<void>((resolve) => held.push(resolve));
      const answer = path.includes('/count') ? { count, exact: true } : { slots: [] };
      return new Response(JSON.stringify(answer), { headers: { 'content-type': 'application/json' } });
    });
    const model = createEffectsModel();
    const products = [{ code: 'LAMP', model: {} } as unknown as ProductAnswer];
    await model.load(products);
    hold = true;
    const first = model.load(products);
    await vi.waitFor(() => expect(held.length).toBeGreaterThan(0));
    hold = false;
    count = '6';
    await model.load(products);
    for (const end of held) end();
    await first;
    expect(model.effects.value[0]).toMatchObject({ counted: { count: '6' }, before: { count: '9' } });
  });
});
