import Database from 'better-sqlite3';
import { expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { migrate } from '../../db/migrate.ts';
import { initial } from '../../db/migrations/001-initial.ts';
import { preparation } from '../../db/migrations/002-preparation.ts';
import { rules } from '../../db/migrations/003-rules.ts';
import { approvals } from '../../db/migrations/004-approvals.ts';
import { history } from '../../db/migrations/005-history.ts';
import { pictureSets } from '../../db/migrations/006-picture-sets.ts';
import { openDatabase } from '../../db/open-database.ts';

it('keeps what was measured of a map, and tells what was never measured from what cannot be', async () => {
  const db = openDatabase(':memory:');
  const stores = createStores(db);
  const [known, unreadable, unknown] = ['a', 'b', 'c'].map((letter) => letter.repeat(64));
  const facts = { content: { linearMean: [0.1, 0.2, 0.3] }, seams: { leftRight: null, topBottom: null } };
  await stores.putMapFacts(known!, facts as never);
  await stores.putMapFacts(unreadable!, null);
  expect(await stores.getMapFacts(known!)).toEqual(facts);
  expect(await stores.getMapFacts(unreadable!)).toBeNull();
  expect(await stores.getMapFacts(unknown!)).toBeUndefined();
  await db.destroy();
});

it('finishes that had a map and white have their colour from the map, in the latest entry of their history too', () => {
  const sqlite = new Database(':memory:');
  for (const script of [initial, preparation, rules, approvals, history, pictureSets]) sqlite.exec(script);
  sqlite.pragma('user_version = 6');
  const colour = (hex: string, more: object = {}) => JSON.stringify({ colour: { hex }, ...more });
  const maps = { maps: { colour: 'a'.repeat(64) } };
  const put = sqlite.prepare('INSERT INTO finishes (finish_key, article_key, revision, data) VALUES (?, ?, ?, ?)');
  sqlite.prepare('INSERT INTO articles (article_key, data) VALUES (?, ?)').run('walnut', JSON.stringify(maps));
  put.run('own', null, 2, colour('#FFFFFF', maps));
  put.run('shared', 'walnut', 1, colour('#ffffff'));
  put.run('tinted', 'walnut', 1, colour('#8a6a4a'));
  put.run('plain', null, 1, colour('#ffffff'));
  put.run('supplied', null, 1, colour('#ffffff', { ...maps, supplied: { file: 'b'.repeat(64) } }));
  const note = sqlite.prepare(
    "INSERT INTO history (kind, code_key, revision, what, data) VALUES ('finish', 'own', ?, 'saved', ?)",
  );
  note.run(1, colour('#ffffff'));
  note.run(2, colour('#FFFFFF', maps));

  migrate(sqlite);
  const read = (key: string) =>
    JSON.parse((sqlite.prepare('SELECT data FROM finishes WHERE finish_key = ?').get(key) as { data: string }).data);
  expect(read('own')).toEqual({ ...maps, colourFrom: 'map' });
  expect(read('shared')).toEqual({ colourFrom: 'map' });
  expect(read('tinted')).toEqual({ colour: { hex: '#8a6a4a' } });
  expect(read('plain')).toEqual({ colour: { hex: '#ffffff' } });
  expect(read('supplied').colour).toEqual({ hex: '#ffffff' });
  const entries = sqlite.prepare("SELECT data FROM history WHERE code_key = 'own' ORDER BY revision").all();
  expect(entries.map((entry) => JSON.parse((entry as { data: string }).data))).toEqual([
    { colour: { hex: '#ffffff' } },
    { ...maps, colourFrom: 'map' },
  ]);
  sqlite.close();
});
