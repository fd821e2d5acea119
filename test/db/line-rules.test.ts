import { afterEach, beforeEach, expect, it } from 'vitest';
import { createStores } from '../../db/create-stores.ts';
import { initial, preparation } from '../../db/migrations.ts';
import { Database, migrate, openDatabase } from '../../db/open-database.ts';
import type { Line } from '../../server/core/line/line.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import type { Schedule } from '../../server/core/schedule/schedule.ts';
import { SAVED, STAMP } from '../support/changes.ts';
import { makeFinish } from '../support/make-finish.ts';
import { expectRefusal } from '../support/refusal.ts';

let db: Awaited<ReturnType<typeof openDatabase>>;
let stores: Stores;
beforeEach(async () => {
  db = await openDatabase(':memory:');
  stores = createStores(db);
  for (const code of ['OAK', 'ASH', 'RED']) await stores.putFinish(makeFinish(code), SAVED);
});
afterEach(() => db.destroy());

const LINE: Line = {
  line: 'Fen',
  name: 'Fenwater',
  positions: [
    { position: 'seat', label: 'Seat' },
    { position: 'legs', label: 'Legs' },
  ],
  range: [
    { finish: 'OAK', grade: 'A', status: 'phase-out', lastOrder: '2031-06-30', replacedBy: 'ASH' },
    { finish: 'ASH', status: 'current' },
  ],
  rules: [{ when: { position: 'seat', finish: 'RED' }, excludes: { position: 'legs', tag: 'warm' } }],
};
const SCHEDULE: Schedule = {
  default: 'A',
  variants: [
    { code: 'A', name: 'A', choices: { seat: 'OAK' } },
    { code: 'B', name: 'B', choices: { seat: 'ASH' } },
  ],
};
const NEXT: Schedule = { default: 'B', variants: SCHEDULE.variants.slice(1) };

async function addProduct(code: string): Promise<string> {
  await stores.addProduct({
    code,
    name: code,
    line: 'Fen',
    class: 'none',
    mount: 'floor',
    sheet: null,
    budget: 'web-catalogue',
  });
  return (await stores.putSchedule(code, await stores.writeSchedule(SCHEDULE), null)).tag;
}

it('a line is read back with its rules, last order dates and replacements', async () => {
  await stores.putLine(LINE, null);
  expect(await stores.getLine('FEN')).toEqual(LINE);
  expect(await stores.listLines()).toEqual([LINE]);
  await stores.putRules('fen', [], null);
  expect(await stores.getLine('Fen')).toEqual({ ...LINE, rules: [] });
});

it('a line stored before there were rules has none', async () => {
  const sqlite = new Database(':memory:');
  sqlite.exec(initial);
  sqlite.exec(preparation);
  sqlite.pragma('user_version = 2');
  sqlite.exec("INSERT INTO lines VALUES ('old', 'Old', 'Old line')");
  await migrate(sqlite);
  expect(sqlite.prepare('SELECT rules FROM lines').get()).toEqual({ rules: '[]' });
  sqlite.close();
});

it('a finish that a rule names is in use, and cannot be deleted', async () => {
  await stores.putLine(LINE, null);
  expect(await stores.findUses('red')).toEqual({ lines: [], rules: ['Fen'], schedules: [] });
  const problem = await expectRefusal(() => stores.deleteFinish('RED', STAMP), 'finish-in-use');
  expect(problem.message).toContain('rules of Fen');
  await stores.putRules('Fen', [], null);
  await stores.deleteFinish('RED', STAMP);
  expect(await stores.getFinish('RED')).toBeNull();
});

it('a discontinued finish and the schedules without it are stored together', async () => {
  await stores.putLine(LINE, null);
  const ifTag = await addProduct('P');
  await stores.applyDiscontinue({
    line: 'fen',
    ifTag: (await stores.getTaggedLine('FEN'))!.tag,
    finish: 'oak',
    replacedBy: null,
    stamp: STAMP,
    schedules: [{ product: 'P', written: await stores.writeSchedule(NEXT), ifTag }],
  });
  const [entry] = (await stores.getLine('Fen'))!.range;
  expect(entry).toEqual({ finish: 'OAK', grade: 'A', status: 'discontinued', lastOrder: '2031-06-30' });
  expect((await stores.getSchedule('P'))!.schedule).toEqual(NEXT);
  expect((await stores.findUses('OAK')).schedules).toEqual([]);
});

it('if one schedule changed in the meantime, everything stays the same', async () => {
  await stores.putLine(LINE, null);
  const tags = [await addProduct('P'), await addProduct('Q')];
  await stores.putSchedule('Q', await stores.writeSchedule({ ...SCHEDULE, default: 'B' }), null);
  const written = await stores.writeSchedule(NEXT);
  const change = {
    line: 'Fen',
    ifTag: (await stores.getTaggedLine('FEN'))!.tag,
    finish: 'OAK',
    replacedBy: null,
    stamp: STAMP,
    schedules: ['P', 'Q'].map((product, i) => ({ product, written, ifTag: tags[i]! })),
  };
  await expectRefusal(() => stores.applyDiscontinue(change), 'stale-schedule');
  expect(await stores.getLine('Fen')).toEqual(LINE);
  expect((await stores.getSchedule('P'))!.schedule).toEqual(SCHEDULE);
  await expectRefusal(() => stores.applyDiscontinue({ ...change, finish: 'RED', schedules: [] }), 'not-in-range');
});
