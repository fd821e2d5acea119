import { expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { approvals, history, initial, pictureSets, preparation, rules } from '../../db/migrations.ts';
import { Database, migrate, openDatabase } from '../../db/open-database.ts';
import { measureMap } from '../../server/images/measure-map.ts';
import { writePng } from '../support/write-png.ts';

it('stores the measurements of a map, and that a map cannot be measured', async () => {
  const db = await openDatabase(':memory:');
  const stores = createStores(db);
  const [known, unmeasurable] = ['a'.repeat(64), 'b'.repeat(64)];
  expect(await stores.getMapFacts(known)).toBeUndefined();
  const facts = await measureMap(writePng({ type: 'rgb', bits: 8, widthPx: 2, codes: [0, 9, 255, 4, 9, 255] }));
  await stores.putMapFacts(known, facts);
  await stores.putMapFacts(unmeasurable, null);
  expect(await stores.getMapFacts(known)).toEqual(facts);
  expect(await stores.getMapFacts(unmeasurable)).toBeNull();
  await db.destroy();
});

it('white finishes with a colour map take their colour from it after the migration, in all their revisions', async () => {
  const sqlite = new Database(':memory:');
  for (const script of [initial, preparation, rules, approvals, history, pictureSets]) sqlite.exec(script);
  sqlite.pragma('user_version = 6');
  const maps = { colour: 'a'.repeat(64) };
  const [white, blue] = [{ hex: '#FFFFFF' }, { hex: '#224466' }];
  const finishes = {
    own: { colour: white, maps, note: 'n' },
    'by-article': { colour: white, article: 'linen' },
    'own-blue': { colour: blue, maps },
    plain: { colour: white },
    'plain-article': { colour: white, article: 'lacquer' },
    supplied: { colour: white, maps, supplied: { file: 'b'.repeat(64) } },
    lab: { colour: { lab: [100, 0, 0], illuminant: 'D65', observer: '2deg' }, maps },
  };
  const addArticle = sqlite.prepare('INSERT INTO articles (article_key, data) VALUES (?, ?)');
  addArticle.run('linen', JSON.stringify({ maps }));
  addArticle.run('lacquer', JSON.stringify({}));
  const addFinish = sqlite.prepare(
    'INSERT INTO finishes (finish_key, article_key, revision, data) VALUES (?, ?, 2, ?)',
  );
  const addEntry = sqlite.prepare(
    "INSERT INTO history (kind, code_key, revision, what, data) VALUES ('finish', ?, ?, 'saved', ?)",
  );
  for (const [key, finish] of Object.entries(finishes)) {
    addFinish.run(key, 'article' in finish ? finish.article : null, JSON.stringify(finish));
    addEntry.run(key, 1, JSON.stringify({ ...finish, note: 'before' }));
    addEntry.run(key, 2, JSON.stringify(finish));
  }
  await migrate(sqlite);
  const read = (sql: string) =>
    sqlite
      .prepare(sql)
      .pluck()
      .all()
      .map((data) => JSON.parse(data as string));
  const { own, 'by-article': byArticle, ...others } = finishes;
  const { colour: _, ...ownLeft } = own;
  const { colour: __, ...articleLeft } = byArticle;
  const expected = {
    own: { ...ownLeft, colourFrom: 'map' },
    'by-article': { ...articleLeft, colourFrom: 'map' },
    ...others,
  };
  for (const [key, finish] of Object.entries(expected)) {
    expect(read(`SELECT data FROM finishes WHERE finish_key = '${key}'`), key).toEqual([finish]);
    // no revision says that somebody changed the colour
    const entries = read(`SELECT data FROM history WHERE code_key = '${key}' ORDER BY revision`);
    expect(entries, key).toEqual([{ ...finish, note: 'before' }, finish]);
  }
  sqlite.close();
});
