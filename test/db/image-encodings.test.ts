import { afterEach, beforeEach, expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { imageEncodings } from '../../db/migrations.ts';
import { Database, migrate, openDatabase } from '../../db/open-database.ts';
import type { StoredImage, Stores } from '../../server/core/ports/stores.ts';

let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;
beforeEach(async () => {
  db = await openDatabase(':memory:');
  stores = createStores(db);
});
afterEach(() => db.destroy());

const sha256 = 'a'.repeat(64);
const image: StoredImage = { sha256, bytes: 9, mimeType: 'image/png', widthPx: 4, heightPx: 2, encoding: null };
const encoding = {
  profile: { name: 'Adobe RGB (1998)', isSrgb: false },
  bitsPerChannel: 16,
  asColour: 'b'.repeat(64),
  outside: 0.25,
} as const;

it('stores how an image states its colours', async () => {
  await stores.addFile({ ...image, encoding });
  expect(await stores.getFile(sha256)).toEqual({ ...image, encoding });
  expect(await stores.getFile('c'.repeat(64))).toBeNull();
});

it('adds an encoding that was unknown, and changes nothing else', async () => {
  await stores.addFile(image);
  expect(await stores.getFile(sha256)).toEqual(image);
  await stores.addFile({ ...image, bytes: 10, encoding });
  expect(await stores.getFile(sha256)).toEqual({ ...image, encoding });
  await stores.addFile({ ...image, encoding: { ...encoding, outside: 0 } });
  await stores.addFile(image);
  expect(await stores.getFile(sha256)).toEqual({ ...image, encoding });
});

it('leaves the encoding empty for images that were stored before', async () => {
  const older = new Database(':memory:');
  await migrate(older);
  older.exec('ALTER TABLE images DROP COLUMN encoding');
  older.prepare('INSERT INTO images VALUES (?, 9, ?, 4, 2)').run(sha256, 'image/png');
  older.exec(imageEncodings);
  expect(older.prepare('SELECT sha256, encoding FROM images').all()).toEqual([{ sha256, encoding: null }]);
  older.close();
});
