import { afterEach, beforeEach, expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { openDatabase } from '../../db/open-database.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { SAVED, STAMP } from '../support/changes.ts';
import { makeFinish } from '../support/make-finish.ts';
import { expectRefusal } from '../support/refusal.ts';

let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;
beforeEach(async () => {
  db = await openDatabase(':memory:');
  stores = createStores(db);
});
afterEach(() => db.destroy());

const isNew = () => null;
const list = async () => (await stores.listFinishes()).map(({ finish, revision }) => `${finish} ${revision}`);

it('writes many in their order, in several statements, with turns of the event loop in between', async () => {
  const all = Array.from({ length: 1100 }, (_, i) => makeFinish(`F-${i}`));
  let turns = 0;
  const count = () => {
    turns += 1;
    if (turns < 10_000) pending = setImmediate(count);
  };
  let pending = setImmediate(count);
  await stores.putFinishes(all, isNew, SAVED);
  clearImmediate(pending);
  expect(await list()).toEqual(all.map(({ finish }) => `${finish} 1`));
  // 1100 finishes in statements of at most 275
  expect(turns).toBeGreaterThanOrEqual(4);
});

it('counts revisions as for single finishes: unchanged, changed, in another case, deleted before', async () => {
  await stores.putFinish(makeFinish('Same'), SAVED);
  await stores.putFinish(makeFinish('Changed'), SAVED);
  await stores.putFinish(makeFinish('Gone'), SAVED);
  await stores.deleteFinish('Gone', STAMP);
  const known = new Map([
    ['same', 1],
    ['changed', 1],
  ]);
  await stores.putFinishes(
    [makeFinish('Same'), makeFinish('CHANGED', { name: 'Other' }), makeFinish('Gone'), makeFinish('New')],
    (code) => known.get(code.toLowerCase()) ?? null,
    SAVED,
  );
  expect(await list()).toEqual(['Same 1', 'Changed 2', 'Gone 2', 'New 1']);
});

it('writes none when one differs from the known revision: changed, added or deleted in the meantime', async () => {
  await stores.putFinish(makeFinish('A'), SAVED);
  const batch = [makeFinish('X'), makeFinish('A', { name: 'Other' })];
  const knownAs = (a: number | null, x: number | null) => (code: string) => (code === 'A' ? a : x);
  for (const known of [knownAs(2, null), knownAs(null, null), knownAs(1, 1)]) {
    await expectRefusal(() => stores.putFinishes(batch, known, SAVED), 'stale-finishes');
  }
  expect(await list()).toEqual(['A 1']);
  await stores.putFinishes(batch, knownAs(1, null), SAVED);
  expect(await list()).toEqual(['A 2', 'X 1']);
});

/** Stores whose statements are counted. */
function countStatements(): { readonly counted: Stores; readonly statements: () => number } {
  let statements = 0;
  const counted = createStores(
    db.withPlugin({
      transformQuery({ node }) {
        statements++;
        return node;
      },
      transformResult: async ({ result }) => result,
    }),
  );
  return { counted, statements: () => statements };
}

const change = (code: string, name: string) => async (at: Stores) => {
  await at.putFinish(makeFinish(code, { name }), SAVED);
};

it.each([
  ['a change', change('F-500', 'Other')],
  ['a change in another case', change('f-500', 'Other')],
  ['the same again', change('F-500', 'F-500')],
  ['a new finish', change('New', 'New')],
  ['a deletion', (at: Stores) => at.deleteFinish('f-500', STAMP)],
  [
    'a new finish with a code of before',
    async (at: Stores) => {
      await at.deleteFinish('F-2', STAMP);
      await at.putFinish(makeFinish('F-2'), SAVED);
    },
  ],
])(
  'after %s, alone or in a transaction, the list is as the database has it, and is not read again',
  async (_, work) => {
    const all = Array.from({ length: 1100 }, (_, i) => makeFinish(`F-${i}`, { name: `F-${i}` }));
    await stores.putFinishes(all, isNew, SAVED);
    const { counted, statements } = countStatements();
    for (const run of [work, (at: Stores) => at.transaction(work)]) {
      await counted.listFinishes();
      await run(counted);
      const before = statements();
      const listed = await counted.listFinishes();
      expect(statements()).toBe(before);
      expect(listed).toEqual(await createStores(db).listFinishes());
      expect(await counted.transaction((tx) => tx.listFinishes())).toBe(listed);
    }
  },
);

it('a transaction that fails changes no list', async () => {
  await stores.putFinish(makeFinish('A', { name: 'A' }), SAVED);
  const before = await stores.listFinishes();
  const failing = stores.transaction(async (tx) => {
    await change('A', 'Other')(tx);
    await change('B', 'B')(tx);
    expect(await tx.listFinishes()).toHaveLength(2);
    throw new Error('stop');
  });
  await expect(failing).rejects.toThrow('stop');
  expect(await stores.listFinishes()).toEqual(before);
});

it('of changes at once, each is in the list', async () => {
  await stores.putFinish(makeFinish('A', { name: 'A' }), SAVED);
  await stores.listFinishes();
  await Promise.all([
    change('A', 'Other')(stores),
    stores.listFinishes(),
    stores.transaction(change('B', 'B')),
    stores.snapshot((at) => at.listFinishes()),
    stores.putArticle({ article: 'C', name: 'C', family: 'paint' }, SAVED),
    change('D', 'D')(stores),
    stores.transaction((tx) => tx.deleteFinish('B', STAMP)),
  ]);
  expect(await list()).toEqual(['A 2', 'D 1']);
  expect(await stores.listFinishes()).toEqual(await createStores(db).listFinishes());
});
