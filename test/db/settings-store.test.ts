import { afterEach, beforeEach, expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { MIGRATIONS } from '../../db/migrations.ts';
import { Database, migrate, openDatabase } from '../../db/open-database.ts';
import { READY_SETS } from '../../server/core/picture/picture-set.ts';
import { readPictureSet } from '../../server/core/picture/read-picture-set.ts';
import type { Stores } from '../../server/core/ports/stores.ts';

let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;
beforeEach(async () => {
  db = await openDatabase(':memory:');
  stores = createStores(db);
});
afterEach(() => db.destroy());

const make = (code: string, name = code) =>
  readPictureSet(code, { name, sizes: [512], format: 'webp', views: ['slot:seat'] });

it('stores sets unchanged, by code in any case', async () => {
  expect(await stores.listPictureSets()).toEqual([]);
  expect(await stores.putPictureSet(make('Press'))).toBe(true);
  expect(await stores.putPictureSet(make('fair'))).toBe(true);
  expect(await stores.putPictureSet(make('PRESS', 'For the press'))).toBe(false);
  expect(await stores.listPictureSets()).toEqual([make('fair'), make('PRESS', 'For the press')]);
});

it('deletes a stored set, and reports whether there was one', async () => {
  for (const set of READY_SETS) await stores.putPictureSet(set);
  expect(await stores.deletePictureSet('SHOP')).toBe(true);
  expect(await stores.deletePictureSet('shop')).toBe(false);
  expect((await stores.listPictureSets()).map(({ code }) => code)).toEqual(['print', 'swatches']);
});

it('has its table in a file from before there were sets', async () => {
  const older = new Database(':memory:');
  for (const text of Object.values(MIGRATIONS).slice(0, 5)) older.exec(text);
  older.pragma('user_version = 5');
  await migrate(older);
  expect(older.prepare('SELECT count(*) AS sets FROM picture_sets').get()).toEqual({ sets: 0 });
  older.close();
});
