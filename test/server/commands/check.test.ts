import { existsSync, mkdtempSync, readdirSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'kysely';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { createFiles } from '../../../db/create-files.ts';
import { createPictureStore } from '../../../db/create-picture-store.ts';
import { createStores } from '../../../db/create-stores.ts';
import { lockDataFolder } from '../../../db/lock-data-folder.ts';
import { openDatabase } from '../../../db/open-database.ts';
import { checkCommand } from '../../../server/commands/check.ts';
import { ConfigError } from '../../../server/config.ts';
import { makeFinish } from '../../support/make-finish.ts';
import { expectRefusal } from '../../support/refusal.ts';

let folder: string;
let printed: string[] = [];
/** Digests of the map of a finish, and of a file that nothing refers to. */
let used: string;
let unused: string;
beforeEach(async () => {
  vi.spyOn(console, 'log').mockImplementation((line: string) => void printed.push(line));
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-check-'));
  const db = await openDatabase(join(folder, 'dyeworks.sqlite'));
  const files = createFiles(join(folder, 'files'));
  const pictures = createPictureStore(db, join(folder, 'pictures'), 1e9);
  ({ sha256: used } = await files.putBytes(Buffer.from('the map of a finish')));
  ({ sha256: unused } = await files.putBytes(Buffer.from('nothing refers to this')));
  await createStores(db).putFinish(makeFinish('F', { maps: { colour: used } }), { person: null, how: 'saved', at: '' });
  for (const key of ['whole', 'short', 'gone']) await pictures.put(key, Buffer.from(`picture ${key}`), 'image/png');
  await db.destroy();
});
afterEach(() => {
  vi.restoreAllMocks();
  printed = [];
  rmSync(folder, { recursive: true, force: true });
});

const fileOf = (sha256: string) => join(folder, 'files', sha256.slice(0, 2), sha256);

/** Runs the command, and returns its status and the remarks: codes and subjects that are not mended, and those that are. */
async function check(...args: string[]) {
  printed = [];
  const status = await checkCommand(['--json', ...args], { DYEWORKS_DATA: folder });
  const { remarks } = JSON.parse(printed.join('\n')) as {
    remarks: { code: string; subject: string; places: string[]; mended: boolean }[];
  };
  const list = (mended: boolean) =>
    remarks.filter((one) => one.mended === mended).map(({ code, subject }) => `${code} ${subject}`);
  return { status, open: list(false), mended: list(true), places: remarks.flatMap(({ places }) => places) };
}

it('is 0 for data in order, and deletes an unused file only after its time', async () => {
  expect(await check()).toEqual({ status: 0, open: [`unused-file ${unused}`], mended: [], places: [] });
  expect(await check('--mend')).toMatchObject({ status: 0, open: [`unused-file ${unused}`] });
  expect(existsSync(fileOf(unused))).toBe(true);
  expect(await check('--mend', '--unused-days', '0')).toMatchObject({ status: 0, mended: [`unused-file ${unused}`] });
  expect(existsSync(fileOf(unused))).toBe(false);
  expect(existsSync(fileOf(used))).toBe(true);
  expect(await check()).toEqual({ status: 0, open: [], mended: [], places: [] });
});

it('finds damage without touching it, and mends what can be mended', async () => {
  const { pictures, files } = { pictures: join(folder, 'pictures'), files: join(folder, 'files') };
  truncateSync(fileOf(used), 3);
  truncateSync(join(pictures, 'short'), 0);
  rmSync(join(pictures, 'gone'));
  writeFileSync(join(pictures, 'stray'), 'left');
  writeFileSync(join(pictures, 'half.part'), 'left');
  writeFileSync(join(files, 'temporary', 'model'), 'left');
  const faults = [
    `leftover ${join(files, 'temporary', 'model')}`,
    `leftover ${join(pictures, 'half.part')}`,
    `damaged-file ${used}`,
    'missing-picture gone',
    'damaged-picture short',
    'stray-picture stray',
  ];
  const found = await check();
  expect(found).toMatchObject({ status: 1, mended: [] });
  expect(found.open).toEqual([...faults, `unused-file ${unused}`]);
  expect(found.places).toEqual(['finishes f', 'history f']);
  expect((await check()).open).toEqual(found.open);
  const mended = await check('--mend');
  expect(mended.mended).toEqual(faults);
  // the map is gone now: only an upload or a backup brings it back
  expect(mended).toMatchObject({ status: 1, open: [`missing-file ${used}`, `unused-file ${unused}`] });
  expect(readdirSync(join(folder, 'damaged'))).toEqual([used]);
  expect(readdirSync(pictures)).toEqual(['whole']);
  await createFiles(files).putBytes(Buffer.from('the map of a finish'));
  expect(await check()).toMatchObject({ status: 0, open: [`unused-file ${unused}`] });
});

it('finds rows that refer to missing rows', async () => {
  const db = await openDatabase(join(folder, 'dyeworks.sqlite'));
  await sql`PRAGMA foreign_keys = OFF`.execute(db);
  await sql`INSERT INTO preparations VALUES ('nothing', '[]')`.execute(db);
  await db.destroy();
  expect((await check('--mend')).open).toEqual(['broken-row preparations  → products', `unused-file ${unused}`]);
});

it('finds damage in the database, and then touches nothing', async () => {
  const path = join(folder, 'dyeworks.sqlite');
  writeFileSync(join(folder, 'files', 'temporary', 'model'), 'left');
  writeFileSync(path, Buffer.concat([Buffer.from('SQLite format 3\0'), Buffer.alloc(8192, 7)]));
  const { status, open, mended } = await check('--mend');
  expect({ status, mended }).toEqual({ status: 1, mended: [] });
  expect(open[0]).toMatch(/^damaged-database /);
  expect(existsSync(join(folder, 'files', 'temporary', 'model'))).toBe(true);
});

describe('the call', () => {
  it('prints a line for each kind, and the result', async () => {
    truncateSync(fileOf(used), 3);
    expect(await checkCommand([], { DYEWORKS_DATA: folder })).toBe(1);
    expect(printed[0]).toMatch(/^1: Damaged files/);
    expect(printed[1]).toBe(`  ${used} (finishes f, history f)`);
    expect(printed.at(-1)).toBe(`${folder}: 2 files, 3 pictures, 1 fault left; --mend corrects what can be corrected`);
  });

  it('is refused while a service uses the folder, without data, and with a wrong option', async () => {
    const lock = lockDataFolder(folder);
    await expectRefusal(() => checkCommand([], { DYEWORKS_DATA: folder }), 'data-folder-in-use');
    lock.release();
    await expect(checkCommand([], { DYEWORKS_DATA: join(folder, 'none') })).rejects.toThrow(ConfigError);
    expect(existsSync(join(folder, 'none'))).toBe(false);
    await expect(checkCommand(['--unused-days', 'x'], { DYEWORKS_DATA: folder })).rejects.toThrow(/number of days/);
  });
});

it('finds rows that contradict each other, and makes again what can be made', async () => {
  const open = () => openDatabase(join(folder, 'dyeworks.sqlite'));
  let db = await open();
  for (const statement of [
    `INSERT INTO products (product_key, code, name, class, mount, current_revision) VALUES ('p', 'P', 'Product', 'none', 'floor', 9)`,
    `INSERT INTO models (product_key, revision, sha256, bytes, survey) VALUES ('p', 4, '${used}', 19, '{}')`,
    `INSERT INTO schedules VALUES ('p', 't', '{"default":"A","variants":[{"code":"A","name":"A","choices":{"seat":"F"}}]}')`,
    `INSERT INTO deliveries (product_key, delivery, sha256, bytes, variants, created_at, manifest) VALUES ('p', 2, '${used}', 77, 1, '', '{"finishes":[{"finish":"F"}]}')`,
    `INSERT INTO counters VALUES ('p', 1, 1)`,
    `INSERT INTO picture_sets VALUES ('set', '{')`,
    `INSERT INTO audit VALUES (1, '', NULL, '{"what":"x"}', '${'0'.repeat(64)}', 'wrong')`,
  ]) {
    await sql`${sql.raw(statement)}`.execute(db);
  }
  await db.destroy();
  const mendable = ['wrong-uses schedule of p', 'wrong-uses delivery p/2', 'low-counter p', 'lost-revision p'];
  const lasting = ['broken-json picture_sets set', 'broken-audit 1', `wrong-length ${used}`, `unused-file ${unused}`];
  const found = await check();
  expect([found.status, found.open.sort(), found.mended]).toEqual([1, [...mendable, ...lasting].sort(), []]);
  const mended = await check('--mend');
  expect([mended.mended.sort(), mended.open.sort()]).toEqual([[...mendable].sort(), [...lasting].sort()]);
  expect((await check()).open.sort()).toEqual([...lasting].sort());
  db = await open();
  expect(await db.selectFrom('counters').selectAll().execute()).toEqual([
    { product_key: 'p', revision: 4, delivery: 2 },
  ]);
  expect(await db.selectFrom('schedule_uses').selectAll().execute()).toEqual([
    { product_key: 'p', finish_key: 'f', variants: 1 },
  ]);
  expect((await db.selectFrom('products').select('current_revision').executeTakeFirst())?.current_revision).toBe(4);
  await db.destroy();
});
