import { afterEach, beforeEach, expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { approvals, initial, preparation, rules } from '../../db/migrations.ts';
import { Database, migrate, openDatabase } from '../../db/open-database.ts';
import type { Article } from '../../server/core/finish/finish.ts';
import { isRevision } from '../../server/core/history/history.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { SAVED, STAMP } from '../support/changes.ts';
import { makeFinish } from '../support/make-finish.ts';

let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;
beforeEach(async () => {
  db = await openDatabase(':memory:');
  stores = createStores(db);
});
afterEach(() => db.destroy());

const ARTICLE: Article = { article: 'Loop', name: 'Loop', family: 'textile' };
const CLOTH = { family: 'textile', article: 'Loop' } as const;
const tell = async (code: string) =>
  (await stores.getFinishHistory(code)).map((entry) =>
    isRevision(entry)
      ? `${entry.what} ${entry.revision} ${entry.definition.name} ${entry.articleRevision}`
      : `${entry.what} ${entry.revision}`,
  );

it('records each whole revision, with person and time, and none without a change', async () => {
  await stores.putFinish(makeFinish('A'), { ...SAVED, note: 'first' });
  const { finish, colour, ...rest } = makeFinish('A');
  // the same definition with its fields in another order is no change
  await stores.putFinish({ colour, ...rest, finish }, SAVED);
  await stores.putFinishes([makeFinish('a', { name: 'B' })], () => 1, { at: STAMP.at, person: null, how: 'imported' });
  expect(await stores.getFinishHistory('a')).toEqual([
    {
      revision: 1,
      what: 'saved',
      at: STAMP.at,
      person: 'Ada',
      note: 'first',
      definition: makeFinish('A'),
      articleRevision: null,
    },
    {
      revision: 2,
      what: 'imported',
      at: STAMP.at,
      person: null,
      definition: makeFinish('A', { name: 'B' }),
      articleRevision: null,
    },
  ]);
  expect(await stores.getFinishHistory('other')).toEqual([]);
});

it('outlives the finish: numbers continue under the same code, with the deletion between', async () => {
  await stores.putFinish(makeFinish('A'), SAVED);
  await stores.deleteFinish('A', STAMP);
  await stores.putFinish(makeFinish('A', { name: 'Other' }), SAVED);
  expect(await tell('A')).toEqual(['saved 1 Name of A null', 'deleted 1', 'saved 2 Other null']);
});

it('a changed article is a revision of its own and of each of its finishes', async () => {
  expect(await stores.putArticle(ARTICLE, SAVED)).toBe(true);
  await stores.putFinish(makeFinish('A', CLOTH), SAVED);
  await stores.putFinish(makeFinish('B', CLOTH), SAVED);
  await stores.putFinish(makeFinish('C', { family: 'textile' }), SAVED);
  expect(await stores.putArticle({ ...ARTICLE, article: 'LOOP', roughness: 0.9 }, SAVED)).toBe(false);
  expect(await stores.putArticle({ ...ARTICLE, article: 'LOOP', roughness: 0.9 }, SAVED)).toBe(false);
  expect(await tell('A')).toEqual(['saved 1 Name of A 1', 'article-changed 2 Name of A 2']);
  expect(await tell('C')).toEqual(['saved 1 Name of C null']);
  const articles = (await stores.getArticleHistory('loop')).filter(isRevision);
  expect(articles.map(({ revision, definition }) => [revision, definition.roughness])).toEqual([
    [1, undefined],
    [2, 0.9],
  ]);
});

it('definitions from before the history are the first known revision', async () => {
  const sqlite = new Database(':memory:');
  for (const script of [initial, preparation, rules, approvals]) sqlite.exec(script);
  sqlite.pragma('user_version = 4');
  sqlite.exec(`INSERT INTO articles VALUES ('loop', '{"article":"Loop"}')`);
  sqlite.exec(`INSERT INTO finishes VALUES (1, 'a', 'loop', 7, '{"finish":"A"}'), (2, 'b', NULL, 1, '{"finish":"B"}')`);
  await migrate(sqlite);
  const rows = sqlite.prepare('SELECT kind, code_key, revision, what, at, data, article_revision FROM history').raw();
  expect(rows.all()).toEqual([
    ['article', 'loop', 1, 'known', null, '{"article":"Loop"}', null],
    ['finish', 'a', 7, 'known', null, '{"finish":"A"}', 1],
    ['finish', 'b', 1, 'known', null, '{"finish":"B"}', null],
  ]);
  sqlite.close();
});

it('a long history is read in parts, in its order, with turns of the event loop in between', async () => {
  await stores.putFinish(makeFinish('LONG'), SAVED);
  const row = await db.selectFrom('history').selectAll().where('code_key', '=', 'long').executeTakeFirstOrThrow();
  const { ordinal: _, ...entry } = row;
  for (let revision = 2; revision <= 1001; revision++) {
    await db
      .insertInto('history')
      .values({ ...entry, revision })
      .execute();
  }
  let turns = 0;
  let pending: NodeJS.Immediate;
  const count = () => {
    turns++;
    pending = setImmediate(count);
  };
  pending = setImmediate(count);
  const history = await stores.getFinishHistory('LONG');
  clearImmediate(pending);
  expect(history.map(({ revision }) => revision)).toEqual(Array.from({ length: 1001 }, (_, i) => i + 1));
  expect(turns).toBeGreaterThanOrEqual(5);
});
