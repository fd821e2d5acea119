import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setImmediate } from 'node:timers/promises';
import type { KyselyPlugin } from 'kysely';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { openDatabase } from '../../db/open-database.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { makeFinish } from '../support/make-finish.ts';
import { expectRefusal } from '../support/refusal.ts';

// Imports of many finishes: all or none, without holding the connection.

let folder: string;
let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-test-'));
  db = await openDatabase(join(folder, 'test.sqlite'));
  stores = createStores(db);
});

afterEach(async () => {
  await db.destroy();
  rmSync(folder, { recursive: true });
});

const IMPORTED = { how: 'imported', person: null, at: '2026-01-01T00:00:00.000Z' } as const;
const isNew = () => null;
const makeMany = (count: number, name = 'New') =>
  Array.from({ length: count }, (_, i) => makeFinish(`F-${i}`, { name: `${name} ${i}` }));
const countStaged = async () => (await db.selectFrom('staged_finishes').select('ordinal').execute()).length;

/** Stores whose statements are counted. */
function countStatements(): { readonly stores: Stores; readonly count: () => number } {
  let statements = 0;
  const plugin: KyselyPlugin = {
    transformQuery({ node }) {
      statements++;
      return node;
    },
    transformResult: async ({ result }) => result,
  };
  return { stores: createStores(db.withPlugin(plugin)), count: () => statements };
}

it('lets other calls in between: the longest wait of a read is a few statements, however long the import is', async () => {
  const longest: number[] = [];
  for (const size of [1000, 4000]) {
    const importing = countStatements();
    const waits: number[] = [];
    let over = false;
    const done = importing.stores.putFinishes(
      Array.from({ length: size }, (_, i) => makeFinish(`S${size}-${i}`)),
      isNew,
      IMPORTED,
    );
    const reading = (async () => {
      while (!over) {
        const before = importing.count();
        await stores.getProduct('P');
        waits.push(importing.count() - before);
        await setImmediate();
      }
    })();
    await done;
    over = true;
    await reading;
    // one read at least for every batch that was written, and for every one that was moved
    expect(waits.length).toBeGreaterThan((2 * size) / 250 - 1);
    longest.push(Math.max(...waits));
  }
  expect(longest[0]).toBeLessThanOrEqual(6);
  expect(longest[1]).toBe(longest[0]);
});

it('shows all finishes at once, in their order, while they move to their place', async () => {
  await stores.putFinish(makeFinish('F-3', { name: 'Old' }), IMPORTED);
  const seen = new Set<string>();
  let over = false;
  const done = stores.putFinishes(makeMany(1000), (code) => (code === 'F-3' ? 1 : null), IMPORTED);
  const reading = (async () => {
    while (!over) {
      const finishes = await stores.listFinishes();
      seen.add(`${finishes.length} ${finishes[0]!.finish} ${finishes[0]!.name}`);
      await setImmediate();
    }
  })();
  await done;
  over = true;
  await reading;
  expect([...seen]).toEqual(['1 F-3 Old', '1000 F-3 New 3']);
  const kept = await stores.listFinishes();
  expect(await createStores(db).listFinishes()).toEqual(kept);
  expect(await stores.getFinishHistory('F-999')).toMatchObject([{ revision: 1, what: 'imported' }]);
  expect(await countStaged()).toBe(0);
});

it('stores nothing if a finish changed before, or meanwhile', async () => {
  await stores.putFinish(makeFinish('F-900'), IMPORTED);
  await expectRefusal(() => stores.putFinishes(makeMany(1000), isNew, IMPORTED), 'stale-finishes');
  expect([(await stores.listFinishes()).length, await countStaged()]).toEqual([1, 0]);

  const known = (code: string) => (code === 'F-900' ? 1 : null);
  const importing = stores.putFinishes(makeMany(1000), known, IMPORTED);
  await stores.putFinish(makeFinish('F-5', { name: 'By someone else' }), IMPORTED);
  await expect(importing).rejects.toMatchObject({ code: 'stale-finishes' });
  expect([(await stores.listFinishes()).length, await countStaged()]).toEqual([2, 0]);
});

it('takes no notice of other finishes, and later changes come on top', async () => {
  const importing = stores.putFinishes(makeMany(1000), isNew, IMPORTED);
  await stores.putFinish(makeFinish('OTHER'), IMPORTED);
  // it waits until the import is over, or the import is refused
  const later = importing.then(() => stores.putFinish(makeFinish('F-999', { name: 'Later' }), IMPORTED));
  await Promise.all([importing, later]);
  expect(await stores.listFinishes()).toHaveLength(1001);
  expect(await stores.getFinish('F-999')).toMatchObject({ name: 'Later', revision: 2 });
});

it('a change that waits for the end of an import is kept', async () => {
  const importing = stores.putFinishes(makeMany(1000), isNew, IMPORTED);
  while ((await stores.listFinishes()).length === 0) await setImmediate();
  const asked = stores.transaction((tx) => tx.putFinish(makeFinish('F-999', { name: 'Waited' }), IMPORTED));
  await Promise.all([importing, asked]);
  expect(await stores.getFinish('F-999')).toMatchObject({ name: 'Waited', revision: 2 });
});

it('a process that ends in between leaves all or none', async () => {
  const rows = makeMany(600).map((finish) => ({
    finish_key: finish.finish.toLowerCase(),
    article_key: null,
    revision: 1,
    data: JSON.stringify(finish),
    known: null,
  }));
  await db.insertInto('staged_finishes').values(rows).execute();
  const unmarked = createStores(db);
  expect([await unmarked.listFinishes(), await countStaged()]).toEqual([[], 0]);

  await db.insertInto('staged_finishes').values(rows).execute();
  await db
    .insertInto('switched_imports')
    .values({ change: JSON.stringify(IMPORTED) })
    .execute();
  const marked = createStores(db);
  const [one, list] = await Promise.all([marked.getFinish('F-599'), marked.listFinishes()]);
  expect([one?.revision, list.length, await countStaged()]).toEqual([1, 600, 0]);
  expect(await db.selectFrom('switched_imports').selectAll().execute()).toEqual([]);
});
