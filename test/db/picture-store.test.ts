import { mkdtempSync, readdirSync, rmSync, statSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createPictureStore } from '../../db/create-picture-store.ts';
import { openDatabase } from '../../db/open-database.ts';
import type { PictureStore } from '../../server/core/ports/stores.ts';
import { failFiles } from '../support/disk-faults.ts';

let folder: string;
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-pictures-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const size = () => readdirSync(folder).reduce((sum, name) => sum + statSync(join(folder, name)).size, 0);

it('stays under its limit when many pictures arrive at once, again and again', async () => {
  const store = createPictureStore(await openDatabase(':memory:'), folder, 100_000);
  for (let round = 0; round < 6; round++) {
    const puts = Array.from({ length: 30 }, (_, i) =>
      store.put(`key-${round}-${i}`, new Uint8Array(10_000), 'image/png'),
    );
    await Promise.all(puts);
    await store.put(`last-${round}`, new Uint8Array(10_000), 'image/png');
    expect(size()).toBeLessThanOrEqual(100_000);
  }
});

it('evicts the least recently used first, and counts a rewritten picture once', async () => {
  const store = createPictureStore(await openDatabase(':memory:'), folder, 100_000, { usedApartMs: 0 });
  for (let i = 0; i < 9; i++) {
    await store.put(`key-${i}`, new Uint8Array(10_000), 'image/png');
    await new Promise((resolve) => setTimeout(resolve, 2));
  }
  for (let again = 0; again < 5; again++) await store.put('key-8', new Uint8Array(10_000), 'image/png');
  expect(await store.get('key-0')).not.toBeNull();
  await store.put('key-9', new Uint8Array(10_000), 'image/png');
  await store.put('key-10', new Uint8Array(10_000), 'image/png');
  expect(await store.get('key-0')).not.toBeNull();
  expect(await store.get('key-1')).toBeNull();
});

it('deletes files that a crash left half written', async () => {
  writeFileSync(join(folder, 'abc.1234.part'), 'half');
  createPictureStore(await openDatabase(':memory:'), folder, 100_000);
  expect(readdirSync(folder)).toEqual([]);
});

it.each([
  ['empty', (path: string) => truncateSync(path)],
  ['short', (path: string) => truncateSync(path, 5)],
  ['changed', (path: string) => writeFileSync(path, 'picture of anothers')],
  ['missing', (path: string) => rmSync(path)],
])('a file that is %s, as after a power cut, is never sent: the picture is made again', async (_, damage) => {
  const store = createPictureStore(await openDatabase(':memory:'), folder, 100_000);
  const bytes = new TextEncoder().encode('picture of anything');
  await store.put('key', bytes, 'image/png');
  damage(join(folder, 'key'));
  expect(await store.get('key')).toBeNull();
  expect(await store.listHeld(['key'])).toEqual(new Map());
  await store.put('key', bytes, 'image/png');
  expect(new Uint8Array((await store.get('key'))!.bytes)).toEqual(bytes);
});

it('writes the row before the file, so that a crash in between leaves no file that is not counted', async () => {
  const db = await openDatabase(':memory:');
  const store = createPictureStore(db, folder, 100_000);
  const end = await failFiles('EIO', ({ name }) => name === 'rename');
  // the fault stands for a crash at this step
  const { fault } = await store.put('key', new Uint8Array(10), 'image/png');
  end();
  expect(fault).toMatchObject({ code: 'EIO' });
  expect(readdirSync(folder)).toEqual([]);
  const rows = await db.selectFrom('pictures').select(['picture_key', 'bytes']).execute();
  expect(rows).toEqual([{ picture_key: 'key', bytes: 10 }]);
  expect(await store.get('key')).toBeNull();
});

it('lists nothing whose file is missing or short, as after a crash', async () => {
  const store = createPictureStore(await openDatabase(':memory:'), folder, 100_000);
  for (const key of ['kept', 'lost', 'short']) await store.put(key, new Uint8Array(10), 'image/png');
  rmSync(join(folder, 'lost'));
  truncateSync(join(folder, 'short'), 4);
  expect([...(await store.listHeld(['kept', 'lost', 'short'])).keys()]).toEqual(['kept']);
});

it('lists which of many keys it has without reading them, and without counting it as a use', async () => {
  const store = createPictureStore(await openDatabase(':memory:'), folder, 100_000);
  const keys = Array.from({ length: 1200 }, (_, i) => `key-${i}`);
  for (const key of ['key-3', 'key-1100']) await store.put(key, new TextEncoder().encode(key), 'image/png');
  const held = await store.listHeld(keys);
  expect([...held.keys()].sort()).toEqual(['key-1100', 'key-3']);
  // SHA-256 of the five bytes “key-3”, by sha256sum
  expect(held.get('key-3')).toEqual({
    sha256: 'd9ef8196557c9da69806fb5d777f4e5ad6d5c18593039e0ff62f9fdf003b0198',
    bytes: 5,
  });
  expect(await store.listHeld([])).toEqual(new Map());
});

describe('pictures of guests', () => {
  const tenth = new Uint8Array(10_000);
  const open = async () => createPictureStore(await openDatabase(':memory:'), folder, 100_000, { usedApartMs: 0 });
  const held = async (store: PictureStore, keys: readonly string[]) => [...(await store.listHeld(keys)).keys()].sort();
  const names = (name: string, count: number) => Array.from({ length: count }, (_, n) => `${name}-${n}`);

  it('have a quarter of the bytes, and drive out only each other', async () => {
    const store = await open();
    const own = names('own', 5);
    for (const key of own) await store.put(key, tenth, 'image/png');
    for (const key of names('guest', 40)) await store.put(key, tenth, 'image/png', 'guests');
    expect(await held(store, own)).toEqual(own);
    const kept = await held(store, names('guest', 40));
    expect(kept).toContain('guest-39');
    expect(kept.length).toBeLessThanOrEqual(2);
  });

  it('give way where others fill the store', async () => {
    const store = await open();
    const own = names('own', 10);
    for (const key of own) await store.put(key, tenth, 'image/png');
    for (const key of names('guest', 3)) await store.put(key, tenth, 'image/png', 'guests');
    expect(await held(store, own)).toEqual(own);
    expect(await held(store, names('guest', 3))).toEqual([]);
  });

  it('belong to others once these read them, and stay theirs when a guest stores them again', async () => {
    const store = await open();
    await store.put('shared', tenth, 'image/png', 'guests');
    expect(await store.get('shared', 'guests')).not.toBeNull();
    expect(await store.get('shared')).not.toBeNull();
    await store.put('shared', tenth, 'image/png', 'guests');
    for (const key of names('guest', 20)) await store.put(key, tenth, 'image/png', 'guests');
    expect(await held(store, ['shared'])).toEqual(['shared']);
  });
});
