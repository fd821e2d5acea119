import { afterEach, beforeEach, expect, it } from 'vitest';
import { createStores } from '../../../db/create-stores.ts';
import { openDatabase } from '../../../db/open-database.ts';
import type { Context } from '../../../server/actions/context.ts';
import { listProducts } from '../../../server/actions/list-products.ts';
import type { Line } from '../../../server/core/line/line.ts';
import type { Stores } from '../../../server/core/ports/stores.ts';
import { BUDGETS } from '../../../server/core/product/budgets.ts';
import { deriveSlots } from '../../../server/core/product/slot.ts';
import { SAVED, STAMP } from '../../support/changes.ts';
import { makeFinish } from '../../support/make-finish.ts';
import { makeSurvey } from '../../support/make-survey.ts';

// The products are stored with summaries of their checks. Three products: IN stands in a line with a range, OPEN in a line
// without one, and ALONE in none.

let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;
/** Names of the calls of the stores. */
let calls: string[];
let context: Context;

beforeEach(async () => {
  db = await openDatabase(':memory:');
  stores = createStores(db);
  calls = [];
  const counted = new Proxy(stores, {
    get: (target, name: keyof Stores) => {
      calls.push(name);
      return target[name];
    },
  });
  context = { stores: counted, build: 'one' } as Context;
  for (const code of ['OAK', 'ASH', 'RED']) await stores.putFinish(makeFinish(code), SAVED);
  await stores.putLine(line('FEN', ['OAK', 'ASH']), null);
  await stores.putLine(line('WIDE', []), null);
  for (const [code, of] of [
    ['IN', 'FEN'],
    ['OPEN', 'WIDE'],
    ['ALONE', null],
  ] as const)
    await stores.addProduct(product(code, of));
  await putSchedule('IN', 'OAK');
});
afterEach(() => db.destroy());

const line = (code: string, range: readonly string[], more: Partial<Line> = {}): Line => ({
  line: code,
  name: code,
  positions: [{ position: 'seat', label: 'Seat' }],
  range: range.map((finish) => ({ finish, status: 'current' })),
  rules: [],
  ...more,
});
const product = (code: string, of: string | null, budget = 'web-catalogue') =>
  ({ code, name: code, line: of, class: 'none', mount: 'floor', sheet: null, budget }) as const;
const putSchedule = async (product: string, finish: string) => {
  const variants = [{ code: 'A', name: 'A', choices: { seat: finish } }];
  await stores.putSchedule(product, await stores.writeSchedule({ default: 'A', variants }), null);
};
const survey = makeSurvey(['Seat'], [[{ material: 0 }]]);
const model = {
  sha256: 'a'.repeat(64),
  bytes: 10,
  receivedSha256: null,
  origin: { kind: 'received' },
  createdAt: STAMP.at,
  survey,
  pieces: [],
} as const;
const facts = {
  sha256: 'b'.repeat(64),
  bytes: 1,
  mimeType: 'image/png',
  widthPx: 1,
  heightPx: 1,
  encoding: null,
} as const;

/** Codes of the products whose summary does not hold. */
const listStale = async () =>
  (await stores.listSummaries({ limit: 10, after: 0 }, 'one'))
    .filter(({ summary }) => !summary)
    .map(({ product }) => product.code);

it('a second list reads the store once, and checks nothing', async () => {
  const first = await listProducts(context, { limit: 10, after: 0 });
  expect(calls).toContain('snapshot');
  calls.length = 0;
  expect(await listProducts(context, { limit: 10, after: 0 })).toEqual(first);
  expect(calls).toEqual(['listSummaries']);
  // another build may check otherwise
  await listProducts({ ...context, build: 'two' }, { limit: 10, after: 0 });
  expect(calls.filter((name) => name === 'snapshot')).toHaveLength(3);
});

it('a search reads on until its page is full', async () => {
  for (let number = 0; number < 500; number++) {
    const of = number % 2 === 0 ? 'FEN' : null;
    await stores.addProduct({ ...product(`P${number}`, of), name: number % 100 === 7 ? 'Stool' : 'Part' });
  }
  const first = await listProducts(context, { limit: 3, after: 0 }, { text: 'stool' });
  expect(first.listed.map(({ product }) => product.code)).toEqual(['P7', 'P107', 'P207']);
  const second = await listProducts(context, { limit: 3, after: first.next! }, { text: 'stool' });
  expect(second.listed.map(({ product }) => product.code)).toEqual(['P307', 'P407']);
  expect(second.next).toBeNull();
  // products that do not match are not checked
  expect(calls.filter((name) => name === 'putSummary')).toHaveLength(5);
});

it('a summary that was made while something changed does not hold', async () => {
  const [row] = await stores.listSummaries({ limit: 1, after: 0 }, 'one');
  await stores.putBudget({ ...BUDGETS[0]!, name: 'kiosk' });
  await stores.putSummary('IN', row!.stamp, { ...NONE, variants: 7 });
  expect(await listStale()).toContain('IN');
  await stores.deleteProduct('IN');
  await stores.putSummary('IN', row!.stamp, NONE);
});

const NONE = {
  size: null,
  model: null,
  verdict: 'attention',
  variants: 0,
  defaultVariant: null,
  deliveries: 0,
  outdated: false,
  isShown: false,
} as const;
const ALL = ['IN', 'OPEN', 'ALONE'];

const CHANGES: [title: string, change: () => Promise<unknown>, stale: string[]][] = [
  ['a product changes', () => stores.changeProduct(product('OPEN', 'WIDE', 'kiosk')), ['OPEN']],
  ['a product moves to another line', () => stores.changeProduct(product('ALONE', 'FEN')), ['ALONE']],
  [
    'a product gets a model',
    () => stores.addModel('ALONE', model, { derive: (known) => deriveSlots(survey, known) }),
    ['ALONE'],
  ],
  ['a schedule changes', () => putSchedule('IN', 'ASH'), ['IN']],
  ['a first schedule is stored', () => putSchedule('ALONE', 'RED'), ['ALONE']],
  ['a schedule is deleted', () => stores.deleteSchedule('IN'), ['IN']],
  ['the range of a line changes', () => stores.putLine(line('FEN', ['OAK']), null), ['IN']],
  ['the positions of a line change', () => stores.putLine(line('WIDE', [], { positions: [] }), null), ['OPEN']],
  ['the rules of a line change', () => stores.putRules('WIDE', [], null), ['OPEN']],
  [
    'a finish in a range and a schedule changes',
    () => stores.putFinish(makeFinish('OAK', { name: 'Oiled' }), SAVED),
    ALL,
  ],
  [
    'a finish in no range changes',
    () => stores.putFinish(makeFinish('RED', { name: 'Red' }), SAVED),
    ['OPEN', 'ALONE'],
  ],
  ['a finish is added', () => stores.putFinish(makeFinish('BLUE'), SAVED), ['OPEN', 'ALONE']],
  ['a finish is deleted', () => stores.deleteFinish('RED', STAMP), ['OPEN', 'ALONE']],
  ['a budget changes', () => stores.putBudget({ ...BUDGETS[0]!, name: 'kiosk' }), ALL],
  ['a map is measured', () => stores.putMapFacts(facts.sha256, null), ALL],
  ['a picture set is stored', () => stores.putPictureSet({ code: 'S' } as never), []],
];

it.each(CHANGES)('when %s, the right summaries are made again', async (_, change, stale) => {
  await listProducts(context, { limit: 10, after: 0 });
  expect(await listStale()).toEqual([]);
  await change();
  expect(await listStale()).toEqual(stale);
  await listProducts(context, { limit: 10, after: 0 });
  expect(await listStale()).toEqual([]);
});

it('a change of an article concerns the products that may have one of its finishes', async () => {
  const article = { article: 'CLOTH', name: 'Cloth', family: 'textile' } as const;
  await stores.putArticle(article, SAVED);
  await stores.putFinish(makeFinish('ASH', { article: 'CLOTH' }), SAVED);
  await listProducts(context, { limit: 10, after: 0 });
  await stores.putArticle({ ...article, name: 'Woven cloth' }, SAVED);
  expect(await listStale()).toEqual(ALL);
});
